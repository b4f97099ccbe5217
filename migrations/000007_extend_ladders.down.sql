BEGIN;
DROP TABLE steel_approval, rope_loan, rope_check, class_rope_kind, assignment, catch_note, judgement, ladder_draft;
DELETE FROM stage_decision WHERE verdict = 'moved';
ALTER TABLE stage_decision DROP CONSTRAINT stage_decision_verdict_check;
ALTER TABLE stage_decision ADD CONSTRAINT stage_decision_verdict_check
    CHECK (verdict IN ('start', 'up', 'stay', 'down', 'back'));
ALTER TABLE ladder_version DROP COLUMN note;
ALTER TABLE ladder DROP COLUMN lang, DROP COLUMN key;
DROP INDEX result_by_day;
ALTER TABLE result DROP COLUMN unattended, DROP COLUMN task;
COMMIT;
