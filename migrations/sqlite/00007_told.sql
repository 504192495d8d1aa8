-- +goose Up

-- What somebody was told without asking comes between a question and the next one.
CREATE INDEX outbox_told ON outbox (transport, chat, made_at) WHERE lane IN (0, 2, 3, 4);
