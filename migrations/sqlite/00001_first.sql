-- +goose Up

-- Instants are microseconds UTC, masses grams, days YYYY-MM-DD, text ids ours.

CREATE TABLE sites (
	ref              TEXT PRIMARY KEY,
	name             TEXT NOT NULL,
	zone             TEXT NOT NULL,
	lang             TEXT NOT NULL,
	emergency_number TEXT NOT NULL,
	initials_only    INTEGER NOT NULL,
	handover_lead    INTEGER NOT NULL, -- microseconds
	shifts           TEXT NOT NULL,    -- JSON
	revision         INTEGER NOT NULL, -- grows with every change of what describes the site
	last_note        INTEGER NOT NULL DEFAULT 0,
	last_incident    INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TABLE people (
	site        TEXT NOT NULL REFERENCES sites (ref),
	ref         TEXT NOT NULL,
	position    INTEGER NOT NULL,
	name        TEXT NOT NULL,
	role        TEXT NOT NULL,
	lang        TEXT NOT NULL,
	phone       TEXT NOT NULL,
	shifts      TEXT NOT NULL, -- JSON
	removed     INTEGER NOT NULL,
	transport   TEXT,          -- with chat: where the person is reached, once joined
	chat        TEXT,
	joined_at   INTEGER,
	gone_at     INTEGER,       -- the messenger says that nothing reaches them
	handed_over INTEGER NOT NULL DEFAULT 0, -- up to here the handovers have told everything
	handed_from INTEGER NOT NULL DEFAULT 0, -- from here the last handover told
	PRIMARY KEY (site, ref)
) STRICT;

CREATE UNIQUE INDEX people_address ON people (transport, chat) WHERE chat IS NOT NULL;

CREATE TABLE clients (
	site      TEXT NOT NULL REFERENCES sites (ref),
	ref       TEXT NOT NULL,
	position  INTEGER NOT NULL,
	name      TEXT NOT NULL,
	also      TEXT NOT NULL, -- JSON
	room      TEXT NOT NULL,
	mass      INTEGER NOT NULL,
	weighed   TEXT NOT NULL,
	says      TEXT NOT NULL, -- JSON
	says_more TEXT NOT NULL, -- JSON
	ended     INTEGER NOT NULL,
	PRIMARY KEY (site, ref)
) STRICT;

CREATE TABLE cares_for (
	site   TEXT NOT NULL,
	person TEXT NOT NULL,
	client TEXT NOT NULL,
	position INTEGER NOT NULL,
	PRIMARY KEY (site, person, client),
	FOREIGN KEY (site, person) REFERENCES people (site, ref),
	FOREIGN KEY (site, client) REFERENCES clients (site, ref)
) STRICT;

CREATE TABLE ranges (
	site     TEXT NOT NULL REFERENCES sites (ref),
	ref      TEXT NOT NULL,
	position INTEGER NOT NULL,
	body     TEXT NOT NULL, -- JSON
	PRIMARY KEY (site, ref)
) STRICT;

CREATE TABLE slings (
	site       TEXT NOT NULL REFERENCES sites (ref),
	label      TEXT NOT NULL,
	position   INTEGER NOT NULL,
	range_ref  TEXT NOT NULL,
	size       TEXT NOT NULL,
	state      TEXT NOT NULL,
	examined   TEXT NOT NULL,
	due        TEXT NOT NULL,
	PRIMARY KEY (site, label)
) STRICT;

CREATE TABLE hoists (
	site       TEXT NOT NULL REFERENCES sites (ref),
	label      TEXT NOT NULL,
	position   INTEGER NOT NULL,
	name       TEXT NOT NULL,
	kind       TEXT NOT NULL,
	attachment TEXT NOT NULL,
	bar_points INTEGER NOT NULL,
	swl        INTEGER NOT NULL,
	bar_swl    INTEGER NOT NULL,
	state      TEXT NOT NULL,
	examined   TEXT NOT NULL,
	due        TEXT NOT NULL,
	PRIMARY KEY (site, label)
) STRICT;

-- A recorded version is never changed.
CREATE TABLE plans (
	site        TEXT NOT NULL,
	client      TEXT NOT NULL,
	version     INTEGER NOT NULL,
	from_at     INTEGER NOT NULL,
	recorded_at INTEGER NOT NULL,
	body        TEXT NOT NULL, -- JSON
	PRIMARY KEY (site, client, version),
	FOREIGN KEY (site, client) REFERENCES clients (site, ref)
) STRICT;

CREATE TABLE invitations (
	hash       TEXT PRIMARY KEY, -- SHA-256 of the code, so that the code is nowhere kept
	site       TEXT NOT NULL,
	person     TEXT NOT NULL,
	made_by    TEXT NOT NULL,
	made_at    INTEGER NOT NULL,
	expires_at INTEGER NOT NULL,
	transport  TEXT,             -- with chat: who has claimed it
	chat       TEXT,
	used_at    INTEGER,
	FOREIGN KEY (site, person) REFERENCES people (site, ref)
) STRICT;

-- Where each conversation stands; the form of state belongs to dialog.
CREATE TABLE conversations (
	transport  TEXT NOT NULL,
	chat       TEXT NOT NULL,
	state      TEXT NOT NULL,
	changed_at INTEGER NOT NULL,
	PRIMARY KEY (transport, chat)
) STRICT;

-- What has been taken in, so that a repeated delivery has no effect.
CREATE TABLE inbox (
	transport TEXT NOT NULL,
	id        TEXT NOT NULL,
	taken_at  INTEGER NOT NULL,
	PRIMARY KEY (transport, id)
) STRICT;

CREATE INDEX inbox_age ON inbox (taken_at);

-- What is to be sent and what was: the words as the person reads them.
CREATE TABLE outbox (
	id           INTEGER PRIMARY KEY AUTOINCREMENT,
	site         TEXT,
	person       TEXT,
	transport    TEXT NOT NULL,
	chat         TEXT NOT NULL,
	lane         INTEGER NOT NULL,
	message      TEXT NOT NULL,    -- JSON
	actions      TEXT NOT NULL,    -- JSON: what each button means
	edits        INTEGER REFERENCES outbox (id),
	client       TEXT,             -- what the message is about
	plan_version INTEGER,
	state        TEXT NOT NULL,    -- queued, sent, uncertain, undeliverable
	made_at      INTEGER NOT NULL,
	due_at       INTEGER NOT NULL,
	attempts     INTEGER NOT NULL DEFAULT 0,
	sent_at      INTEGER,
	remote_ref   TEXT,
	error        TEXT
) STRICT;

CREATE INDEX outbox_due ON outbox (lane, id) WHERE state = 'queued';
CREATE INDEX outbox_line ON outbox (transport, chat, lane, id) WHERE state = 'queued';
CREATE INDEX outbox_offered ON outbox (transport, chat, id) WHERE actions <> '[]';
CREATE INDEX outbox_failed ON outbox (site) WHERE state IN ('uncertain', 'undeliverable');

CREATE TABLE notes (
	site   TEXT NOT NULL,
	ref    TEXT NOT NULL,
	client TEXT NOT NULL,
	person TEXT NOT NULL,
	at     INTEGER NOT NULL,
	body   TEXT NOT NULL, -- JSON
	PRIMARY KEY (site, ref),
	FOREIGN KEY (site, client) REFERENCES clients (site, ref),
	FOREIGN KEY (site, person) REFERENCES people (site, ref)
) STRICT;

CREATE INDEX notes_client ON notes (site, client, at);

CREATE TABLE incidents (
	site   TEXT NOT NULL,
	ref    TEXT NOT NULL,
	client TEXT,
	person TEXT NOT NULL,
	at     INTEGER NOT NULL,
	body   TEXT NOT NULL, -- JSON
	PRIMARY KEY (site, ref),
	FOREIGN KEY (site, client) REFERENCES clients (site, ref),
	FOREIGN KEY (site, person) REFERENCES people (site, ref)
) STRICT;

CREATE INDEX incidents_client ON incidents (site, client, at);

-- Corrections of notes and incidents, which themselves never change.
CREATE TABLE additions (
	site   TEXT NOT NULL,
	record TEXT NOT NULL,
	number INTEGER NOT NULL,
	person TEXT NOT NULL,
	at     INTEGER NOT NULL,
	body   TEXT NOT NULL, -- JSON
	PRIMARY KEY (site, record, number),
	FOREIGN KEY (site, person) REFERENCES people (site, ref)
) STRICT;

CREATE INDEX additions_age ON additions (site, at);

CREATE TABLE changes (
	site   TEXT NOT NULL,
	id     TEXT NOT NULL,
	client TEXT NOT NULL,
	before INTEGER NOT NULL,
	after  INTEGER NOT NULL,
	at     INTEGER NOT NULL,
	PRIMARY KEY (site, id),
	FOREIGN KEY (site, client) REFERENCES clients (site, ref)
) STRICT;

CREATE INDEX changes_client ON changes (site, client, at);

CREATE TABLE confirmations (
	site         TEXT NOT NULL,
	change       TEXT NOT NULL,
	person       TEXT NOT NULL,
	told_at      INTEGER, -- null while the person has not joined
	confirmed_at INTEGER,
	PRIMARY KEY (site, change, person),
	FOREIGN KEY (site, change) REFERENCES changes (site, id),
	FOREIGN KEY (site, person) REFERENCES people (site, ref)
) STRICT;

-- What is to happen at a time. The transaction that does it deletes the row.
CREATE TABLE wakes (
	site   TEXT NOT NULL,
	kind   TEXT NOT NULL,
	key    TEXT NOT NULL,
	due_at INTEGER NOT NULL,
	body   TEXT NOT NULL, -- JSON
	PRIMARY KEY (site, kind, key)
) STRICT;

CREATE INDEX wakes_due ON wakes (due_at);
