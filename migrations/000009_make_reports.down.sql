BEGIN;
DROP SCHEMA river CASCADE;
DROP TABLE api_token, report_piece, report, report_comment;
COMMIT;
