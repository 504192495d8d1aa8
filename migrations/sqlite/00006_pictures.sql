-- +goose Up

-- Whether messages go without pictures: for a whole site, and for one person.
ALTER TABLE sites ADD COLUMN no_pictures INTEGER NOT NULL DEFAULT 0;
ALTER TABLE people ADD COLUMN no_pictures INTEGER NOT NULL DEFAULT 0;

-- Pictures as drawn, each once. The key is a hash of all that is drawn; a picture
-- names nobody. Those not asked for in a long time are dropped and drawn anew.
CREATE TABLE pictures (
	key     TEXT PRIMARY KEY,
	png     BLOB NOT NULL,
	used_at INTEGER NOT NULL
) STRICT;

CREATE INDEX pictures_age ON pictures (used_at);

-- The picture that a message shows; its row holds the key only.
ALTER TABLE outbox ADD COLUMN picture TEXT;
CREATE INDEX outbox_picture ON outbox (picture) WHERE state = 'queued' AND picture IS NOT NULL;

-- Under which ref a transport keeps a picture that it was sent once.
CREATE TABLE picture_refs (
	key       TEXT NOT NULL REFERENCES pictures (key) ON DELETE CASCADE,
	transport TEXT NOT NULL,
	ref       TEXT NOT NULL,
	PRIMARY KEY (key, transport)
) STRICT;

-- Every weighing that was told, oldest kept too, for a coordinator's chart.
CREATE TABLE weighings (
	site   TEXT NOT NULL,
	client TEXT NOT NULL,
	day    TEXT NOT NULL,
	mass   INTEGER NOT NULL,
	PRIMARY KEY (site, client, day),
	FOREIGN KEY (site, client) REFERENCES clients (site, ref)
) STRICT;

INSERT INTO weighings (site, client, day, mass) SELECT site, ref, weighed, mass FROM clients WHERE weighed <> '' AND mass > 0;

-- Plan sheets on paper: what the code on one stands for. The code says nothing to
-- anybody who is not of the team.
CREATE TABLE sheets (
	code    TEXT PRIMARY KEY,
	site    TEXT NOT NULL,
	client  TEXT NOT NULL,
	version INTEGER NOT NULL,
	made_at INTEGER NOT NULL,
	FOREIGN KEY (site, client) REFERENCES clients (site, ref)
) STRICT;
