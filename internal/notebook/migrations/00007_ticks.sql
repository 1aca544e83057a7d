-- +goose Up
-- Steps of the work without readings that were done, or passed over.

CREATE TABLE tick (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  first       INTEGER REFERENCES tick (id),
  supersedes  INTEGER UNIQUE REFERENCES tick (id),
  same_as     INTEGER REFERENCES tick (id),
  withdrawn   INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  study       INTEGER NOT NULL REFERENCES study (id),
  board       TEXT NOT NULL,
  job         TEXT NOT NULL,
  rail        TEXT NOT NULL, -- empty: the job is about no rail
  state       TEXT NOT NULL, -- of a known load: the state in which it is on; empty: none
  skipped     INTEGER NOT NULL CHECK (skipped IN (0, 1)),
  done_at     TEXT NOT NULL, -- the clock on the wall; empty: not said
  worker      TEXT NOT NULL,
  note        TEXT NOT NULL,
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL,
  CHECK ((first IS NULL) = (supersedes IS NULL))
) STRICT;
CREATE INDEX tick_first ON tick (first);
CREATE INDEX tick_study ON tick (study, id);

-- +goose StatementBegin
CREATE TRIGGER tick_added AFTER INSERT ON tick BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'tick', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tick_never_changed BEFORE UPDATE ON tick BEGIN
  SELECT RAISE(ABORT, 'rows of tick are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tick_never_deleted BEFORE DELETE ON tick BEGIN
  SELECT RAISE(ABORT, 'rows of tick are never deleted');
END;
-- +goose StatementEnd
