BEGIN;
DROP TABLE rope, enrolment, athlete, class_time, class_code, class, holiday, term;
COMMIT;
