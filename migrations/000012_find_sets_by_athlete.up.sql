-- The sets of an athlete, and of a class, are read by who did them and when:
-- without this every page of an athlete looks through all sets of the gym.
BEGIN;
SET LOCAL lock_timeout = '5s';

CREATE INDEX set_log_by_athlete ON set_log (gym_id, athlete_id, done_at);

COMMIT;
