-- When letters reach people, digests, and replies to reminders by vehicle. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (9, 1);

-- Days of the week as bits, Monday the lowest, and the hour, local time.
ALTER TABLE person_details ADD COLUMN letter_days BIGINT NOT NULL DEFAULT 31;
ALTER TABLE person_details ADD COLUMN letter_time TEXT NOT NULL DEFAULT '07:00:00';

-- One list of everything for one person on one day; unique for ever. `told` says what it was made of.
CREATE TABLE digest (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    person_id UUID NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('week', 'round')),
    day DATE NOT NULL,
    not_before TIMESTAMPTZ NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('waiting', 'gathered', 'told', 'empty')),
    told TEXT,
    letter_id UUID,
    created_at TIMESTAMPTZ NOT NULL,
    settled_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, person_id, kind, day),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
);
CREATE INDEX queue_digest ON digest (state, not_before);
CREATE INDEX digest_by_letter ON digest (fleet_id, letter_id);

ALTER TABLE digest ENABLE ROW LEVEL SECURITY;
ALTER TABLE digest FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON digest USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

CREATE INDEX acknowledgement_by_vehicle ON acknowledgement (fleet_id, vehicle_id);
CREATE INDEX postponement_by_vehicle ON postponement (fleet_id, vehicle_id);
CREATE INDEX letter_by_person ON letter (fleet_id, person_id, state);
