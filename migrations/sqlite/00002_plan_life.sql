-- +goose Up

-- What was done to a client's plan as a whole. Rows are added and never changed.
CREATE TABLE plan_events (
	site    TEXT NOT NULL,
	client  TEXT NOT NULL,
	number  INTEGER NOT NULL,
	act     TEXT NOT NULL,    -- suspended, instead, resumed, ended
	version INTEGER NOT NULL, -- the one in force then, zero if none
	up_to   INTEGER NOT NULL, -- the newest on record then
	person  TEXT NOT NULL,
	at      INTEGER NOT NULL,
	body    TEXT NOT NULL,    -- JSON: what to do instead, or the reason
	PRIMARY KEY (site, client, number),
	FOREIGN KEY (site, client) REFERENCES clients (site, ref)
) STRICT;

-- A draft is never shown to carers.
ALTER TABLE plans ADD COLUMN draft INTEGER NOT NULL DEFAULT 0;

-- What a telling is about, and its place among the tellings of the client.
ALTER TABLE changes ADD COLUMN kind TEXT NOT NULL DEFAULT 'version';
ALTER TABLE changes ADD COLUMN urgent INTEGER NOT NULL DEFAULT 0;
ALTER TABLE changes ADD COLUMN seq INTEGER NOT NULL DEFAULT 0;
ALTER TABLE changes ADD COLUMN from_at INTEGER NOT NULL DEFAULT 0;
ALTER TABLE changes ADD COLUMN body TEXT NOT NULL DEFAULT '{}'; -- JSON: the words of an act
-- old: something newer says it all
ALTER TABLE changes ADD COLUMN old INTEGER NOT NULL DEFAULT 0;

UPDATE changes SET seq = after, from_at = coalesce(
	(SELECT p.from_at FROM plans p WHERE p.site = changes.site AND p.client = changes.client AND p.version = changes.after), at);

-- A change that was still to come when it was told is seen to at its time, which may be
-- over: then at once, as are the cards that were sent before they could be marked.
UPDATE changes SET old = EXISTS (
	SELECT 1 FROM changes d WHERE d.site = changes.site AND d.client = changes.client AND d.seq > changes.seq AND d.from_at <= d.at);

INSERT INTO wakes (site, kind, key, due_at, body)
	SELECT site, 'force', id, from_at, '' FROM changes WHERE from_at > at AND old = 0;

INSERT INTO wakes (site, kind, key, due_at, body)
	SELECT DISTINCT site, 'stale', client, 0, '' FROM changes;

CREATE INDEX changes_open ON changes (site, client) WHERE old = 0;
CREATE INDEX cares_for_client ON cares_for (site, client, person);

-- How often the read-back was answered wrongly, and when the person was reminded.
ALTER TABLE confirmations ADD COLUMN wrong INTEGER NOT NULL DEFAULT 0;
ALTER TABLE confirmations ADD COLUMN reminded_at INTEGER;

CREATE INDEX confirmations_open ON confirmations (site, person) WHERE confirmed_at IS NULL;
CREATE INDEX confirmations_untold ON confirmations (site, change, person) WHERE told_at IS NULL;

-- stale: 0 as it was sent, 1 its plan is no longer in force and the message says so, or
-- there are so many newer ones that it was left, 2 nobody is at its address.
ALTER TABLE outbox ADD COLUMN stale INTEGER NOT NULL DEFAULT 0;

CREATE INDEX outbox_cards ON outbox (site, client, plan_version) WHERE state = 'sent' AND stale = 0 AND plan_version IS NOT NULL;
CREATE INDEX outbox_remote ON outbox (transport, chat, remote_ref) WHERE remote_ref IS NOT NULL;
CREATE INDEX outbox_left ON outbox (transport, chat) WHERE stale = 2;
CREATE INDEX outbox_edits ON outbox (edits) WHERE state = 'queued' AND edits IS NOT NULL;
