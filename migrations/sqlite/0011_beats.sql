-- Beats: one row for each running program, of no fleet. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (11, 1);

-- On the clock that the replicas share: the database's. `ahead_seconds` is by how much the machine's differed.
CREATE TABLE replica (
    id BLOB NOT NULL PRIMARY KEY,
    version TEXT NOT NULL,
    started_at TEXT NOT NULL,
    beat_at TEXT NOT NULL,
    read_at TEXT,
    scheduler_at TEXT,
    courier_at TEXT,
    clock TEXT NOT NULL CHECK (clock IN ('agreed', 'ahead', 'behind')),
    ahead_seconds INTEGER NOT NULL
) STRICT;
