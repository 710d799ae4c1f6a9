-- What jobs are found by: a row is the words of one entry, under the number of its
-- first event. Erased words leave nothing behind.
CREATE VIRTUAL TABLE found USING fts5 (words, tokenize = "unicode61 remove_diacritics 2");
INSERT INTO found (found, rank) VALUES ('secure-delete', 1);

-- What was said before there was this.
INSERT INTO found (rowid, words)
	SELECT n, stream || ' ' || coalesce(json_extract(CAST(body AS TEXT), '$.name'), '') || ' ' || coalesce(json_extract(CAST(body AS TEXT), '$.text'), '')
		|| ' ' || CASE kind WHEN 'closed' THEN coalesce(json_extract(CAST(body AS TEXT), '$.fault'), '') ELSE '' END
	FROM events WHERE kind IN ('opened', 'said', 'closed') AND stream NOT LIKE '@%';
