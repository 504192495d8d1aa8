-- +goose Up

-- Every change of a piece of equipment, never overwritten. What it is now stands in
-- slings and hoists.
CREATE TABLE equipment_events (
	site   TEXT NOT NULL REFERENCES sites (ref),
	label  TEXT NOT NULL,
	number INTEGER NOT NULL,
	person TEXT NOT NULL, -- empty: a site file
	at     INTEGER NOT NULL,
	body   TEXT NOT NULL, -- JSON
	PRIMARY KEY (site, label, number)
) STRICT;

-- What a site file said last about a piece, so that an old file cannot undo what was
-- decided in the chat since.
CREATE TABLE equipment_filed (
	site        TEXT NOT NULL REFERENCES sites (ref),
	label       TEXT NOT NULL,
	state       TEXT NOT NULL,
	examined    TEXT NOT NULL,
	due         TEXT NOT NULL,
	exceptional TEXT NOT NULL DEFAULT '',
	serviced    TEXT NOT NULL DEFAULT '',
	PRIMARY KEY (site, label)
) STRICT;

INSERT INTO equipment_filed (site, label, state, examined, due) SELECT site, label, state, examined, due FROM slings;
INSERT INTO equipment_filed (site, label, state, examined, due) SELECT site, label, state, examined, due FROM hoists;

-- A site that is there already is woken once, and plans its daily look at the dates.
INSERT INTO wakes (site, kind, key, due_at, body) SELECT ref, 'examinations', '', 0, '{}' FROM sites;
