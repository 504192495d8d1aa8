-- +goose Up

-- What a code on a label stands for. A code is chance and says nothing; it is kept as it
-- is, since the label is printed again, and it lets nobody in.
CREATE TABLE label_codes (
	code    TEXT PRIMARY KEY,
	site    TEXT NOT NULL REFERENCES sites (ref),
	kind    TEXT NOT NULL, -- client, sling, hoist
	ref     TEXT NOT NULL,
	made_at INTEGER NOT NULL,
	UNIQUE (site, kind, ref)
) STRICT;
