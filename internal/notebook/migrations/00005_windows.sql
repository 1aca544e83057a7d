-- +goose Up
-- Readings that were taken from a window of a trace.
ALTER TABLE entry ADD COLUMN source TEXT NOT NULL DEFAULT '';       -- which window of which trace; empty: a display
ALTER TABLE entry ADD COLUMN with_voltage TEXT NOT NULL DEFAULT ''; -- of a current logged with the voltage: the part to add
