BEGIN;
SET LOCAL lock_timeout = '5s';

ALTER TABLE report DROP COLUMN language;

COMMIT;
