-- +goose Up

-- What an assessment needs beside the plan. Lists are JSON; an empty day is unknown.

ALTER TABLE clients ADD COLUMN weighings TEXT NOT NULL DEFAULT '[]'; -- before the last one, oldest first
ALTER TABLE clients ADD COLUMN back_length INTEGER NOT NULL DEFAULT 0; -- millimetres
ALTER TABLE clients ADD COLUMN hips INTEGER NOT NULL DEFAULT 0; -- millimetres
ALTER TABLE clients ADD COLUMN from_hospital TEXT NOT NULL DEFAULT '';

ALTER TABLE people ADD COLUMN sign_offs TEXT NOT NULL DEFAULT '[]';

ALTER TABLE slings ADD COLUMN since TEXT NOT NULL DEFAULT '';
ALTER TABLE slings ADD COLUMN exceptional TEXT NOT NULL DEFAULT '';
ALTER TABLE slings ADD COLUMN serviced TEXT NOT NULL DEFAULT '';

ALTER TABLE hoists ADD COLUMN since TEXT NOT NULL DEFAULT '';
ALTER TABLE hoists ADD COLUMN exceptional TEXT NOT NULL DEFAULT '';
ALTER TABLE hoists ADD COLUMN serviced TEXT NOT NULL DEFAULT '';
