BEGIN;
DROP TABLE phone_entry, consent, card_secret, card, device, guardian;
ALTER TABLE sign_in DROP COLUMN device_id;
ALTER TABLE gym DROP COLUMN consent_age;
COMMIT;
