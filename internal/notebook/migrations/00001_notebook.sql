-- +goose Up
-- The schema of a notebook. Every table only grows; see the package comment.
--
-- Columns that many tables share:
--   first       the row that began the chain; null in that row itself
--   supersedes  the row that this one takes the place of; a row has at most one successor
--   same_as     the earlier row of the chain that this one repeats (undo)
--   withdrawn   1: the thing no longer counts
--   key         chosen by the sender, so that what is sent twice is kept once
--   taken_at    the sender's clock; accepted_at: this computer's clock, UTC. Neither orders anything.

-- "RTal": tells a notebook from other SQLite files.
PRAGMA application_id = 1381261676;

CREATE TABLE study (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL
) STRICT;

-- plan: everything of a study but its sittings, whole in each revision.
CREATE TABLE plan (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  study       INTEGER NOT NULL REFERENCES study (id),
  based       INTEGER UNIQUE REFERENCES plan (id),
  same_as     INTEGER REFERENCES plan (id),
  question    TEXT NOT NULL,
  form        TEXT NOT NULL CHECK (form IN ('yaml', 'draft')),
  body        TEXT NOT NULL,
  renames     TEXT NOT NULL, -- JSON list: names that readings were carried along with
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX plan_first ON plan (study) WHERE based IS NULL;
CREATE INDEX plan_study ON plan (study, id);

-- instrument: the shelf, shared by all studies.
CREATE TABLE instrument (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  first       INTEGER REFERENCES instrument (id),
  supersedes  INTEGER UNIQUE REFERENCES instrument (id),
  same_as     INTEGER REFERENCES instrument (id),
  withdrawn   INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  name        TEXT NOT NULL,
  form        TEXT NOT NULL CHECK (form IN ('yaml', 'draft')),
  body        TEXT NOT NULL,
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL,
  CHECK ((first IS NULL) = (supersedes IS NULL))
) STRICT;
CREATE INDEX instrument_first ON instrument (first);

-- sitting: began_at is the clock on the wall, without a zone; clock: it has a time of day.
CREATE TABLE sitting (
  id            INTEGER PRIMARY KEY AUTOINCREMENT,
  first         INTEGER REFERENCES sitting (id),
  supersedes    INTEGER UNIQUE REFERENCES sitting (id),
  same_as       INTEGER REFERENCES sitting (id),
  withdrawn     INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  study         INTEGER NOT NULL REFERENCES study (id),
  board         TEXT NOT NULL,
  name          TEXT NOT NULL, -- empty: made from board and day
  began_at      TEXT NOT NULL,
  clock         INTEGER NOT NULL CHECK (clock IN (0, 1)),
  room          TEXT NOT NULL, -- as typed; empty: not said
  room_bare     TEXT NOT NULL, -- unit of figures written without one
  voltage_meter TEXT NOT NULL,
  current_meter TEXT NOT NULL,
  thermometer   TEXT NOT NULL,
  worker        TEXT NOT NULL,
  note          TEXT NOT NULL,
  key           TEXT NOT NULL UNIQUE,
  device        TEXT NOT NULL,
  who           TEXT NOT NULL,
  why           TEXT NOT NULL,
  taken_at      TEXT NOT NULL,
  accepted_at   TEXT NOT NULL,
  CHECK ((first IS NULL) = (supersedes IS NULL))
) STRICT;
CREATE INDEX sitting_first ON sitting (first);
CREATE INDEX sitting_study ON sitting (study, id);

-- entry: one line of the log of a sitting. sitting and step name first rows.
CREATE TABLE entry (
  id               INTEGER PRIMARY KEY AUTOINCREMENT,
  first            INTEGER REFERENCES entry (id),
  supersedes       INTEGER UNIQUE REFERENCES entry (id),
  same_as          INTEGER REFERENCES entry (id),
  withdrawn        INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  study            INTEGER NOT NULL REFERENCES study (id),
  sitting          INTEGER NOT NULL REFERENCES sitting (id),
  step             INTEGER REFERENCES entry (id), -- null for the step itself
  kind             TEXT NOT NULL CHECK (kind IN
                     ('step', 'zero', 'current', 'voltage', 'temperature', 'throughput', 'note')),
  state            TEXT NOT NULL, -- of a step
  at               TEXT NOT NULL, -- of a step: the clock on the wall; empty: not recorded
  rail             TEXT NOT NULL,
  tap              TEXT NOT NULL,
  instrument       TEXT NOT NULL, -- of a zero
  instrument_range TEXT NOT NULL,
  name             TEXT NOT NULL, -- of a temperature
  back             INTEGER NOT NULL CHECK (back IN (0, 1)),
  feed_side        INTEGER NOT NULL CHECK (feed_side IN (0, 1)),
  text             TEXT NOT NULL, -- exactly as typed
  unit             TEXT NOT NULL, -- what is read: V, A, °C, B/s
  bare             TEXT NOT NULL, -- unit of figures written without one
  meter            TEXT NOT NULL,
  meter_range      TEXT NOT NULL,
  key              TEXT NOT NULL UNIQUE,
  device           TEXT NOT NULL,
  who              TEXT NOT NULL,
  why              TEXT NOT NULL,
  taken_at         TEXT NOT NULL,
  accepted_at      TEXT NOT NULL,
  CHECK ((first IS NULL) = (supersedes IS NULL)),
  CHECK ((kind = 'step') = (step IS NULL))
) STRICT;
CREATE INDEX entry_first ON entry (first);
CREATE INDEX entry_study ON entry (study, id);
CREATE INDEX entry_sitting ON entry (sitting, id);
CREATE INDEX entry_step ON entry (step, kind);

-- picture: the bytes of photographs, each once.
CREATE TABLE picture (
  sha256 TEXT PRIMARY KEY,
  type   TEXT NOT NULL,
  width  INTEGER NOT NULL CHECK (width > 0),
  height INTEGER NOT NULL CHECK (height > 0),
  bytes  BLOB NOT NULL
) STRICT;

-- photo: a picture of one side of a board, or of a step.
CREATE TABLE photo (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  first       INTEGER REFERENCES photo (id),
  supersedes  INTEGER UNIQUE REFERENCES photo (id),
  same_as     INTEGER REFERENCES photo (id),
  withdrawn   INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  study       INTEGER NOT NULL REFERENCES study (id),
  board       TEXT NOT NULL,
  side        TEXT NOT NULL CHECK (side IN ('', 'front', 'back')),
  step        INTEGER REFERENCES entry (id),
  note        TEXT NOT NULL,
  picture     TEXT NOT NULL REFERENCES picture (sha256),
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL,
  CHECK ((first IS NULL) = (supersedes IS NULL))
) STRICT;
CREATE INDEX photo_first ON photo (first);
CREATE INDEX photo_study ON photo (study, id);

-- pin: a place on a photograph; x from the left and y from the top, as parts of its size.
CREATE TABLE pin (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  first       INTEGER REFERENCES pin (id),
  supersedes  INTEGER UNIQUE REFERENCES pin (id),
  same_as     INTEGER REFERENCES pin (id),
  withdrawn   INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  study       INTEGER NOT NULL REFERENCES study (id),
  photo       INTEGER NOT NULL REFERENCES photo (id),
  number      INTEGER NOT NULL CHECK (number >= 0),
  role        TEXT NOT NULL CHECK (role IN ('opening', 'probe', 'other')),
  rail        TEXT NOT NULL,
  tap         TEXT NOT NULL,
  point       TEXT NOT NULL,
  x           REAL NOT NULL CHECK (x BETWEEN 0 AND 1),
  y           REAL NOT NULL CHECK (y BETWEEN 0 AND 1),
  note        TEXT NOT NULL,
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL,
  CHECK ((first IS NULL) = (supersedes IS NULL))
) STRICT;
CREATE INDEX pin_first ON pin (first);
CREATE INDEX pin_study ON pin (study, id);

-- change: what was added, in the one order in which it was committed.
CREATE TABLE change (
  seq   INTEGER PRIMARY KEY AUTOINCREMENT,
  study INTEGER REFERENCES study (id), -- null: the shelf
  what  TEXT NOT NULL,
  row   INTEGER NOT NULL
) STRICT;
CREATE INDEX change_study ON change (study, seq);

-- +goose StatementBegin
CREATE TRIGGER plan_added AFTER INSERT ON plan BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'plan', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instrument_added AFTER INSERT ON instrument BEGIN
  INSERT INTO change (study, what, row) VALUES (NULL, 'instrument', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sitting_added AFTER INSERT ON sitting BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'sitting', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entry_added AFTER INSERT ON entry BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'entry', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER photo_added AFTER INSERT ON photo BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'photo', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER pin_added AFTER INSERT ON pin BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'pin', NEW.id);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER study_never_changed BEFORE UPDATE ON study BEGIN
  SELECT RAISE(ABORT, 'rows of study are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER study_never_deleted BEFORE DELETE ON study BEGIN
  SELECT RAISE(ABORT, 'rows of study are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER plan_never_changed BEFORE UPDATE ON plan BEGIN
  SELECT RAISE(ABORT, 'rows of plan are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER plan_never_deleted BEFORE DELETE ON plan BEGIN
  SELECT RAISE(ABORT, 'rows of plan are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instrument_never_changed BEFORE UPDATE ON instrument BEGIN
  SELECT RAISE(ABORT, 'rows of instrument are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instrument_never_deleted BEFORE DELETE ON instrument BEGIN
  SELECT RAISE(ABORT, 'rows of instrument are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sitting_never_changed BEFORE UPDATE ON sitting BEGIN
  SELECT RAISE(ABORT, 'rows of sitting are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sitting_never_deleted BEFORE DELETE ON sitting BEGIN
  SELECT RAISE(ABORT, 'rows of sitting are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry BEGIN
  SELECT RAISE(ABORT, 'rows of entry are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entry_never_deleted BEFORE DELETE ON entry BEGIN
  SELECT RAISE(ABORT, 'rows of entry are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER picture_never_changed BEFORE UPDATE ON picture BEGIN
  SELECT RAISE(ABORT, 'rows of picture are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER picture_never_deleted BEFORE DELETE ON picture BEGIN
  SELECT RAISE(ABORT, 'rows of picture are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER photo_never_changed BEFORE UPDATE ON photo BEGIN
  SELECT RAISE(ABORT, 'rows of photo are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER photo_never_deleted BEFORE DELETE ON photo BEGIN
  SELECT RAISE(ABORT, 'rows of photo are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER pin_never_changed BEFORE UPDATE ON pin BEGIN
  SELECT RAISE(ABORT, 'rows of pin are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER pin_never_deleted BEFORE DELETE ON pin BEGIN
  SELECT RAISE(ABORT, 'rows of pin are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER change_never_changed BEFORE UPDATE ON change BEGIN
  SELECT RAISE(ABORT, 'rows of change are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER change_never_deleted BEFORE DELETE ON change BEGIN
  SELECT RAISE(ABORT, 'rows of change are never deleted');
END;
-- +goose StatementEnd
