-- A stream is a job, or a person's own ("@ana") for what belongs to no job.
CREATE TABLE streams (
	id     TEXT PRIMARY KEY,
	seq    INTEGER NOT NULL, -- of its last event
	opened INTEGER NOT NULL, -- times are microseconds since 1970
	closed INTEGER           -- null while open
) WITHOUT ROWID;
CREATE INDEX streams_open ON streams (id) WHERE closed IS NULL;
CREATE INDEX streams_closed ON streams (closed) WHERE closed IS NOT NULL;

-- Events are only ever added; erasing on request is the one exception.
CREATE TABLE events (
	n         INTEGER PRIMARY KEY,
	stream    TEXT NOT NULL,
	seq       INTEGER NOT NULL,
	at        INTEGER NOT NULL,
	kind      TEXT NOT NULL,
	person    TEXT NOT NULL,
	knowledge TEXT NOT NULL,
	body      BLOB NOT NULL
);
CREATE UNIQUE INDEX events_stream ON events (stream, seq);
CREATE INDEX events_closed ON events (at) WHERE kind = 'closed';

-- What was taken in: a key that is here is never taken again.
CREATE TABLE inbound (
	channel TEXT NOT NULL,
	id      TEXT NOT NULL,
	at      INTEGER NOT NULL,
	PRIMARY KEY (channel, id)
) WITHOUT ROWID;

CREATE TABLE places (
	channel      TEXT NOT NULL,
	conversation TEXT NOT NULL,
	thread       TEXT NOT NULL,
	job          TEXT NOT NULL,
	PRIMARY KEY (channel, conversation, thread)
) WITHOUT ROWID;
CREATE INDEX places_job ON places (job);

CREATE TABLE outbox (
	n        INTEGER PRIMARY KEY,
	id       TEXT NOT NULL UNIQUE,
	stream   TEXT NOT NULL,
	at       INTEGER NOT NULL,
	state    TEXT NOT NULL, -- pending, sent, dead
	attempts INTEGER NOT NULL DEFAULT 0,
	settled  INTEGER,
	external TEXT NOT NULL DEFAULT '',
	reason   TEXT NOT NULL DEFAULT '',
	body     BLOB NOT NULL
);
CREATE INDEX outbox_pending ON outbox (n) WHERE state = 'pending';
CREATE INDEX outbox_stream ON outbox (stream);

CREATE TABLE snapshots (
	stream    TEXT PRIMARY KEY,
	seq       INTEGER NOT NULL,
	knowledge TEXT NOT NULL,
	live      BLOB NOT NULL,
	talk      BLOB NOT NULL
) WITHOUT ROWID;
