-- The tables are those of the record in one file, with the shop in front of every key.
CREATE TABLE streams (
	shop   text NOT NULL,
	id     text NOT NULL,
	seq    bigint NOT NULL, -- of its last event
	opened timestamptz NOT NULL,
	closed timestamptz,     -- null while open
	PRIMARY KEY (shop, id)
);
CREATE INDEX streams_open ON streams (shop, id) WHERE closed IS NULL;
CREATE INDEX streams_closed ON streams (shop, closed) WHERE closed IS NOT NULL;

CREATE TABLE events (
	shop      text NOT NULL,
	n         bigint GENERATED ALWAYS AS IDENTITY,
	stream    text NOT NULL,
	seq       bigint NOT NULL,
	at        timestamptz NOT NULL,
	kind      text NOT NULL,
	person    text NOT NULL,
	knowledge text NOT NULL,
	body      bytea NOT NULL, -- JSON; a text may hold what jsonb may not
	PRIMARY KEY (shop, stream, seq)
);
CREATE INDEX events_closed ON events (shop, at, n) WHERE kind = 'closed';
CREATE INDEX events_person ON events (shop, person);

CREATE TABLE inbound (
	shop    text NOT NULL,
	channel text NOT NULL,
	id      text NOT NULL,
	at      timestamptz NOT NULL,
	PRIMARY KEY (shop, channel, id)
);

CREATE TABLE places (
	shop         text NOT NULL,
	channel      text NOT NULL,
	conversation text NOT NULL,
	thread       text NOT NULL,
	job          text NOT NULL,
	PRIMARY KEY (shop, channel, conversation, thread)
);
CREATE INDEX places_job ON places (shop, job);

CREATE TABLE outbox (
	shop     text NOT NULL,
	n        bigint GENERATED ALWAYS AS IDENTITY,
	id       text NOT NULL,
	stream   text NOT NULL,
	at       timestamptz NOT NULL,
	state    text NOT NULL, -- pending, sent, dead
	attempts integer NOT NULL DEFAULT 0,
	settled  timestamptz,
	channel  text NOT NULL,
	answers  text,          -- the conversation an answer went to in no thread
	external text NOT NULL DEFAULT '',
	reason   text NOT NULL DEFAULT '',
	body     bytea NOT NULL,
	PRIMARY KEY (shop, id)
);
CREATE INDEX outbox_pending ON outbox (shop, n) WHERE state = 'pending';
CREATE INDEX outbox_stream ON outbox (shop, stream);
CREATE INDEX outbox_answers ON outbox (shop, channel, answers, n) WHERE answers IS NOT NULL;
CREATE INDEX outbox_external ON outbox (shop, channel, external, n) WHERE external <> '';

CREATE TABLE snapshots (
	shop      text NOT NULL,
	stream    text NOT NULL,
	seq       bigint NOT NULL,
	knowledge text NOT NULL,
	live      bytea NOT NULL,
	talk      bytea NOT NULL,
	PRIMARY KEY (shop, stream)
);

-- What jobs are found by: the words of one entry, folded, under its first event.
CREATE TABLE found (
	shop   text NOT NULL,
	stream text NOT NULL,
	seq    bigint NOT NULL,
	words  text NOT NULL,
	PRIMARY KEY (shop, stream, seq)
);

-- Who may come in by the web: codes that were sent, and sessions.
CREATE TABLE passes (
	shop   text NOT NULL,
	id     text NOT NULL,
	person text NOT NULL,
	code   bytea,
	salt   bytea,
	device text NOT NULL,
	made   timestamptz NOT NULL,
	used   timestamptz NOT NULL,
	until  timestamptz NOT NULL,
	uses   bigint NOT NULL DEFAULT 0,
	PRIMARY KEY (shop, id)
);
CREATE INDEX passes_person ON passes (shop, person);

-- Who answers for a shop: each owner has a number, and only the last one's writes count.
CREATE TABLE owners (
	shop   text PRIMARY KEY,
	number bigint NOT NULL,
	moving boolean NOT NULL -- it is still being brought over from a file
);

-- The second wall between shops: whatever a statement asks for, it gets the rows of
-- the shop its transaction names, and none when it names none.
DO $$
DECLARE t text;
BEGIN
	FOREACH t IN ARRAY ARRAY['streams', 'events', 'inbound', 'places', 'outbox', 'snapshots', 'found', 'passes', 'owners'] LOOP
		EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
		EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
		EXECUTE format('CREATE POLICY shop ON %I USING (shop = current_setting(''proveout.shop'', true))', t);
	END LOOP;
END $$;
