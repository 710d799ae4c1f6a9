-- Who may come in by the web: codes that were sent, and sessions.
CREATE TABLE passes (
	id     TEXT PRIMARY KEY,
	person TEXT NOT NULL,
	code   BLOB,
	salt   BLOB,
	device TEXT NOT NULL,
	made   INTEGER NOT NULL,
	used   INTEGER NOT NULL,
	until  INTEGER NOT NULL,
	uses   INTEGER NOT NULL DEFAULT 0
) WITHOUT ROWID;
CREATE INDEX passes_person ON passes (person);
