BEGIN;
DROP TABLE first_code, wrong_try, sign_in, membership, person, gym;
DROP FUNCTION guard(regclass);
COMMIT;
