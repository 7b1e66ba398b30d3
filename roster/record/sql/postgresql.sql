CREATE OR REPLACE FUNCTION record_refuses() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'the record of actions is never edited or deleted'; END $$

DROP TRIGGER IF EXISTS record_action_delete ON roster_action

CREATE TRIGGER record_action_delete BEFORE DELETE ON roster_action
FOR EACH ROW EXECUTE FUNCTION record_refuses()

DROP TRIGGER IF EXISTS record_action_truncate ON roster_action

CREATE TRIGGER record_action_truncate BEFORE TRUNCATE ON roster_action
FOR EACH STATEMENT EXECUTE FUNCTION record_refuses()

DROP TRIGGER IF EXISTS record_action_update ON roster_action

CREATE TRIGGER record_action_update BEFORE UPDATE ON roster_action FOR EACH ROW
WHEN (NOT (
  NEW.payload = '' AND NEW.subject = '' AND NEW.actor_id IS NULL AND NEW.child_id IS NULL
  AND NEW.id = OLD.id AND NEW.site_id IS NOT DISTINCT FROM OLD.site_id AND NEW.chain = OLD.chain
  AND NEW.number = OLD.number AND NEW.verb = OLD.verb AND NEW.recorded_at = OLD.recorded_at
  AND NEW.digest = OLD.digest AND NEW.seal = OLD.seal AND OLD.verb <> 'purged'
)) EXECUTE FUNCTION record_refuses()

DROP TRIGGER IF EXISTS record_end_delete ON roster_chainend

CREATE TRIGGER record_end_delete BEFORE DELETE ON roster_chainend
FOR EACH ROW EXECUTE FUNCTION record_refuses()

DROP TRIGGER IF EXISTS record_end_truncate ON roster_chainend

CREATE TRIGGER record_end_truncate BEFORE TRUNCATE ON roster_chainend
FOR EACH STATEMENT EXECUTE FUNCTION record_refuses()

DROP TRIGGER IF EXISTS record_end_update ON roster_chainend

CREATE TRIGGER record_end_update BEFORE UPDATE ON roster_chainend FOR EACH ROW
WHEN (NOT (NEW.id = OLD.id AND NEW.chain = OLD.chain AND NEW.number = OLD.number + 1))
EXECUTE FUNCTION record_refuses()

CREATE OR REPLACE FUNCTION roster_action_empty(of_chain bigint, numbers bigint[]) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp AS
$$ UPDATE roster_action SET payload = '', subject = '', actor_id = NULL, child_id = NULL
WHERE chain = of_chain AND number = ANY(numbers) $$

REVOKE ALL ON FUNCTION roster_action_empty(bigint, bigint[]) FROM PUBLIC
