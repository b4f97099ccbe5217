-- A PDF is written in the language of whoever asked for it, or in the one chosen
-- for whoever will read it.
BEGIN;
SET LOCAL lock_timeout = '5s';

ALTER TABLE report ADD COLUMN language text NOT NULL DEFAULT 'en' CHECK (length(language) BETWEEN 2 AND 35); -- BCP 47

COMMIT;
