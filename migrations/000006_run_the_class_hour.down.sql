BEGIN;
REVOKE DELETE ON term FROM ropewalk_app;
DROP TABLE incident, link_secret, link, meeting_change, hand, run_event, class_test, outfit, floor;
COMMIT;
