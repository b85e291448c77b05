-- The index: a copy of what git and the files say, so that questions are answered fast. It lies under .git/reedbook/, is
-- never committed, and is built again whenever it is missing, old or damaged. Losing it loses nothing.

CREATE TABLE known (head TEXT NOT NULL);

-- Setups in the order in which the history made them.
CREATE TABLE setups (
    position INTEGER PRIMARY KEY,
    bike     TEXT NOT NULL,
    id       TEXT NOT NULL,
    commit_id TEXT NOT NULL,
    unix     INTEGER NOT NULL,
    offset_minutes INTEGER NOT NULL,
    why      TEXT NOT NULL,
    air      TEXT,
    dry_density REAL,
    temperature_c REAL,
    engine   TEXT,
    readable INTEGER NOT NULL,
    despite  TEXT,
    combined INTEGER NOT NULL,
    author   TEXT NOT NULL,
    made_from TEXT,
    combined_of TEXT
);
CREATE INDEX setups_of_bike ON setups (bike, position);
CREATE INDEX setups_of_engine ON setups (engine, position);
CREATE INDEX setups_by_id ON setups (id, bike);

-- Their values: quantities in SI (degrees for angles, rpm for engine speeds), everything as text besides.
CREATE TABLE setup_fields (
    position INTEGER NOT NULL REFERENCES setups ON DELETE CASCADE,
    field    TEXT NOT NULL,
    dimension TEXT,
    si       REAL,
    text     TEXT NOT NULL,
    PRIMARY KEY (position, field)
) WITHOUT ROWID;

-- Few setups have several cylinders: their names are found without looking through the others.
CREATE INDEX cylinder_names ON setup_fields (position) WHERE field = 'cylinders.names';

-- Outings as they are on disk, each with the stamp of the file it was read from.
CREATE TABLE outings (
    file     TEXT PRIMARY KEY,
    bike     TEXT NOT NULL,
    stamp    TEXT NOT NULL,
    document TEXT,
    findings TEXT,
    unix     INTEGER,
    place    TEXT,
    dry_density REAL,
    temperature_c REAL
);
CREATE INDEX outings_of_bike ON outings (bike, unix);

CREATE TABLE outing_fields (
    file     TEXT NOT NULL REFERENCES outings ON DELETE CASCADE,
    field    TEXT NOT NULL,
    dimension TEXT,
    si       REAL,
    text     TEXT NOT NULL,
    PRIMARY KEY (file, field)
) WITHOUT ROWID;

-- Builds, parts and jobs as they are on disk; `kind` is "build", "part" or "job", `owner` the build's engine or the name of the
-- part's or the job's file.
CREATE TABLE documents (
    file     TEXT PRIMARY KEY,
    kind     TEXT NOT NULL,
    owner    TEXT NOT NULL,
    stamp    TEXT NOT NULL,
    document TEXT,
    findings TEXT,
    unix     INTEGER
);
CREATE INDEX documents_of_owner ON documents (kind, owner, unix);

CREATE TABLE document_fields (
    file     TEXT NOT NULL REFERENCES documents ON DELETE CASCADE,
    field    TEXT NOT NULL,
    dimension TEXT,
    si       REAL,
    text     TEXT NOT NULL,
    PRIMARY KEY (file, field)
) WITHOUT ROWID;

-- Words of reasons and notes; `place` is "setup POSITION", "outing FILE", "build FILE" or "part FILE".
CREATE VIRTUAL TABLE words USING fts5 (place UNINDEXED, body, tokenize = 'unicode61 remove_diacritics 2');
