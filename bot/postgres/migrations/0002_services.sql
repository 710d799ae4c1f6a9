-- Several services answer for one shop. What one writes the others read: in which
-- transaction an event was written; 0 is before any.
ALTER TABLE events ADD COLUMN tx bigint NOT NULL DEFAULT (pg_current_xact_id()::text::bigint);
CREATE INDEX events_tx ON events (shop, tx);
-- What somebody did last, and the jobs he opened.
DROP INDEX events_person;
CREATE INDEX events_person ON events (shop, person, n);
CREATE INDEX events_opened ON events (shop, person) WHERE kind = 'opened';

-- Messages of one lane are delivered in order, by one service: the lane is there while
-- any of its messages is pending.
CREATE TABLE lanes (
	shop   text NOT NULL,
	lane   text NOT NULL,
	holder bigint,                 -- the service that delivers it; null while none does
	puts   bigint NOT NULL,        -- how many messages were put into it
	taken  bigint NOT NULL DEFAULT 0, -- how many of them the holder has taken
	again  bigint NOT NULL DEFAULT 0, -- how many a holder that died may have delivered
	PRIMARY KEY (shop, lane)
);
CREATE INDEX lanes_waiting ON lanes (shop) WHERE taken < puts;
CREATE INDEX lanes_holder ON lanes (shop, holder);
ALTER TABLE outbox ADD COLUMN lane text NOT NULL DEFAULT ''; -- empty: laid out when a service starts
ALTER TABLE outbox ADD COLUMN place bigint NOT NULL DEFAULT 0; -- in its lane, from 1
CREATE INDEX outbox_lane ON outbox (shop, lane, place) WHERE state = 'pending';

-- The services that answer for a shop, by their numbers. One lives as long as its
-- session holds the lock of its number.
ALTER TABLE owners RENAME TO shops;
COMMENT ON COLUMN shops.number IS 'of the newest service';
CREATE TABLE services (
	shop   text NOT NULL,
	number bigint NOT NULL,
	PRIMARY KEY (shop, number)
);

-- What a writer may find out of the record's own: PV001 the message is in it, PV002
-- somebody else wrote first, PV003 the shop is held by somebody alone.
CREATE FUNCTION refuse(code text) RETURNS bigint LANGUAGE plpgsql AS $$
BEGIN
	RAISE EXCEPTION 'refused' USING ERRCODE = code;
END $$;

DO $$
DECLARE t text;
BEGIN
	FOREACH t IN ARRAY ARRAY['lanes', 'services'] LOOP
		EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
		EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
		EXECUTE format('CREATE POLICY shop ON %I USING (shop = current_setting(''proveout.shop'', true))', t);
	END LOOP;
END $$;
