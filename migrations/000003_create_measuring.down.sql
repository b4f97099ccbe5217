BEGIN;
DROP TABLE result, attendance, session;
COMMIT;
