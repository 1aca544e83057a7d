-- +goose Up
-- Studies that were put away, and brought back: the newest row of a study holds.

CREATE TABLE archive (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  study       INTEGER NOT NULL REFERENCES study (id),
  away        INTEGER NOT NULL CHECK (away IN (0, 1)),
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL
) STRICT;
CREATE INDEX archive_study ON archive (study, id);

-- +goose StatementBegin
CREATE TRIGGER archive_added AFTER INSERT ON archive BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'archive', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER archive_never_changed BEFORE UPDATE ON archive BEGIN
  SELECT RAISE(ABORT, 'rows of archive are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER archive_never_deleted BEFORE DELETE ON archive BEGIN
  SELECT RAISE(ABORT, 'rows of archive are never deleted');
END;
-- +goose StatementEnd
