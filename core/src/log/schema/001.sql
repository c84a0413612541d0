-- Schema 1. A file holds the entries of one site, or of a person's own kit.
-- Every later schema keeps a table or view `entry` with the columns n, hash, body and sig, and `about` with site and
-- kind, so that an older program can open a newer file to read.

CREATE TABLE upgrade (
    n INTEGER PRIMARY KEY,
    sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT;

CREATE TABLE about (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    site TEXT NOT NULL CHECK (length(site) = 36),
    kind TEXT NOT NULL CHECK (kind IN ('site', 'kit'))
) STRICT;

-- n counts arrivals at this file. body is the JSON exactly as signed. author, seq and tick repeat what the body says,
-- for finding the end of an author's chain without reading every body.
CREATE TABLE entry (
    n INTEGER PRIMARY KEY,
    hash BLOB NOT NULL UNIQUE CHECK (length(hash) = 32),
    author BLOB NOT NULL CHECK (length(author) = 32),
    seq INTEGER NOT NULL CHECK (seq > 0),
    tick INTEGER NOT NULL CHECK (tick > 0),
    body TEXT NOT NULL,
    sig BLOB NOT NULL CHECK (length(sig) = 64)
) STRICT;

CREATE INDEX entry_chain ON entry (author, seq);
CREATE INDEX entry_tick ON entry (tick);

-- Nothing written is rewritten or taken out, whoever holds the file open. The third trigger stands in the way of
-- INSERT OR REPLACE, which deletes without firing a delete trigger.
CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;

CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never taken out'); END;

CREATE TRIGGER entry_no_replace BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE hash = NEW.hash) OR EXISTS (SELECT 1 FROM entry WHERE n = NEW.n)
BEGIN SELECT RAISE(ABORT, 'entries are never replaced'); END;

CREATE TRIGGER about_no_update BEFORE UPDATE ON about
BEGIN SELECT RAISE(ABORT, 'a file stays with its site'); END;

CREATE TRIGGER about_no_delete BEFORE DELETE ON about
BEGIN SELECT RAISE(ABORT, 'a file stays with its site'); END;
