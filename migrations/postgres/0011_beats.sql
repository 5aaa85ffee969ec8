-- Beats: one row for each running program, of no fleet. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (11, 1);

-- On the clock that the replicas share: the database's. `ahead_seconds` is by how much the machine's differed.
CREATE TABLE replica (
    id UUID NOT NULL PRIMARY KEY,
    version TEXT NOT NULL,
    started_at TIMESTAMPTZ NOT NULL,
    beat_at TIMESTAMPTZ NOT NULL,
    read_at TIMESTAMPTZ,
    scheduler_at TIMESTAMPTZ,
    courier_at TIMESTAMPTZ,
    clock TEXT NOT NULL CHECK (clock IN ('agreed', 'ahead', 'behind')),
    ahead_seconds BIGINT NOT NULL
);
