PRAGMA application_id = 1668577616;
PRAGMA user_version = 1;
PRAGMA journal_mode = wal;
BEGIN TRANSACTION;
CREATE TABLE disclosure (
        leaf BLOB NOT NULL,
        field TEXT NOT NULL,
        disclosure TEXT NOT NULL,
        PRIMARY KEY (leaf, field)
    ) STRICT, WITHOUT ROWID;
INSERT INTO "disclosure" VALUES(X'85274490807243C76C4B5FFAC1CF0A44A7E799153173804774B320105D5A76E5','name','WyI3bkI2Vk5qdmlhbjBWdjV5T3gwWklnIiwibmFtZSIsIkFsbWEgS2VzdHJlbCAoaW52ZW50ZWQpIl0');
CREATE TABLE owner (one INTEGER PRIMARY KEY CHECK (one = 1), register TEXT NOT NULL) STRICT;
INSERT INTO "owner" VALUES(1,'continuity-register/5a5a5a5a5a5a5a5a5a5a5a5a5a5a5a5a');
COMMIT;
