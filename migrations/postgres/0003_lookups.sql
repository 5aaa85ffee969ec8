-- Indexes for looking back, for the scheduler's queue, and for finding a cohort's newest fit: the counterpart of the file
-- of this name for SQLite.

INSERT INTO schema_version (version, readable_from) VALUES (3, 1);

CREATE INDEX audit_by_subject ON audit (fleet_id, subject, subject_id);

DROP INDEX queue_vehicle_behind;
CREATE INDEX queue_vehicle_behind ON vehicle_state (fleet_id, vehicle_id) WHERE done_version < needed_version;

CREATE INDEX cohort_fit_by_cohort ON cohort_fit (fleet_id, cohort, recorded_at);
