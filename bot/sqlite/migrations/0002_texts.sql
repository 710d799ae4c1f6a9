-- Where an answer went that is in no thread, so that the rest of it can be asked for.
ALTER TABLE outbox ADD COLUMN answers TEXT NOT NULL DEFAULT '';
CREATE INDEX outbox_answers ON outbox (answers, n) WHERE answers <> '';
-- A receipt names a message by the channel's id of it.
CREATE INDEX outbox_external ON outbox (external) WHERE external <> '';
