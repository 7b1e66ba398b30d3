DROP TRIGGER IF EXISTS record_action_delete

CREATE TRIGGER record_action_delete BEFORE DELETE ON roster_action
BEGIN SELECT RAISE(ABORT, 'the record of actions is never deleted'); END

DROP TRIGGER IF EXISTS record_action_update

CREATE TRIGGER record_action_update BEFORE UPDATE ON roster_action
WHEN NOT (
  NEW.payload = '' AND NEW.subject = '' AND NEW.actor_id IS NULL AND NEW.child_id IS NULL
  AND NEW.id = OLD.id AND NEW.site_id IS OLD.site_id AND NEW.chain = OLD.chain AND NEW.number = OLD.number
  AND NEW.verb = OLD.verb AND NEW.recorded_at = OLD.recorded_at AND NEW.digest = OLD.digest AND NEW.seal = OLD.seal
  AND OLD.verb <> 'purged'
)
BEGIN SELECT RAISE(ABORT, 'the record of actions is never edited'); END

DROP TRIGGER IF EXISTS record_action_replace

CREATE TRIGGER record_action_replace BEFORE INSERT ON roster_action
WHEN EXISTS (
  SELECT 1 FROM roster_action WHERE id = NEW.id OR (chain = NEW.chain AND number = NEW.number)
)
BEGIN SELECT RAISE(ABORT, 'an entry of the record of actions is never replaced'); END

DROP TRIGGER IF EXISTS record_end_delete

CREATE TRIGGER record_end_delete BEFORE DELETE ON roster_chainend
BEGIN SELECT RAISE(ABORT, 'the end of a chain is never deleted'); END

DROP TRIGGER IF EXISTS record_end_update

CREATE TRIGGER record_end_update BEFORE UPDATE ON roster_chainend
WHEN NOT (NEW.id = OLD.id AND NEW.chain = OLD.chain AND NEW.number = OLD.number + 1)
BEGIN SELECT RAISE(ABORT, 'the end of a chain only moves on'); END
