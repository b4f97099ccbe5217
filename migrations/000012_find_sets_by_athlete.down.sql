BEGIN;
SET LOCAL lock_timeout = '5s';

DROP INDEX set_log_by_athlete;

COMMIT;
