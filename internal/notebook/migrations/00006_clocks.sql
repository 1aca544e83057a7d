-- +goose Up
-- How the clocks of other traces are brought to that of a trace: JSON, a list.
ALTER TABLE mapping ADD COLUMN clocks TEXT NOT NULL DEFAULT '[]';
