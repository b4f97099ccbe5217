-- How a test was counted, what a class hour holds, and the gym's own rules.
BEGIN;
SET LOCAL lock_timeout = '5s';

ALTER TABLE result
    ADD COLUMN one_foot boolean NOT NULL DEFAULT false, -- one foot was counted; rotations are doubled
    ADD COLUMN counts   integer[];                      -- of several counters of one test, as counted

ALTER TABLE plan
    ADD COLUMN hour  json,                              -- planner.Hour, byte for byte; null: sets alone
    ADD COLUMN parts json,                              -- the hour's parts and reasons, byte for byte
    ADD COLUMN notes text[] NOT NULL DEFAULT '{}';      -- on the evidence, as package coaching names them

-- Rules that a gym changed, newest row first in force; never changed in place,
-- so that it stays known what held when.
CREATE TABLE gym_rules (
    gym_id   uuid        NOT NULL REFERENCES gym,
    rules_id uuid        NOT NULL,
    rules    json        NOT NULL,                      -- coaching.Rules
    reason   text        NOT NULL DEFAULT '',
    set_at   timestamptz NOT NULL,
    set_by   uuid        NOT NULL,
    PRIMARY KEY (gym_id, rules_id)
);
SELECT guard('gym_rules');
CREATE INDEX gym_rules_by_time ON gym_rules (gym_id, set_at DESC);

COMMIT;
