-- A logbook as schema 1 wrote it; invented records. Never edited: what it holds must stay readable.
PRAGMA application_id = 1148155239;
PRAGMA user_version = 1;
PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE imports (
            n INTEGER PRIMARY KEY,
            at TEXT NOT NULL,
            source TEXT NOT NULL,
            content_hash TEXT,
            added INTEGER NOT NULL,
            changed INTEGER NOT NULL,
            undone_at TEXT,
            seal INTEGER NOT NULL
        ) STRICT;
INSERT INTO imports VALUES(1,'2026-03-04T10:00:00Z','invented.csv','00',6,0,NULL,-1337629693197714559);
INSERT INTO imports VALUES(2,'2026-03-05T10:00:00Z','edited.csv','00',0,1,NULL,32345271475096067);
INSERT INTO imports VALUES(3,'2026-03-06T10:00:00Z','mistake.csv','00',1,0,'2026-11-25T15:00:07.467053775Z',-5878502175201408482);
CREATE TABLE batches (
            n INTEGER PRIMARY KEY,
            added_by INTEGER NOT NULL REFERENCES imports (n),
            seal INTEGER NOT NULL,
            kitchen TEXT NOT NULL,
            batch_id TEXT NOT NULL, "date" TEXT, "flour_g" REAL, "water_g" REAL, "salt_g" REAL, "yeast_g" REAL, "yeast_type" TEXT, "rise" REAL, "recipe" TEXT, "flour_name" TEXT, "flour_lot" TEXT, "yeast_lot" TEXT, "flour_protein_pct" REAL, "baker" TEXT, "oil_g" REAL, "sugar_g" REAL, "malt_g" REAL, "preferment_flour_g" REAL, "preferment_water_g" REAL, "preferment_yeast_g" REAL, "preferment_hours" REAL, "preferment_temp_c" REAL, "preferment_rise" REAL, "flour_temp_c" REAL, "room_temp_c" REAL, "water_temp_c" REAL, "tap_temp_c" REAL, "ice_g" REAL, "mix_method" TEXT, "mix_minutes" REAL, "dough_temp_c" REAL, "bulk_hours" REAL, "bulk_temp_c" REAL, "cold_hours" REAL, "cold_temp_c" REAL, "temper_hours" REAL, "temper_temp_c" REAL, "piece_g" REAL, "container" TEXT, "cold_place" TEXT, "rise_at" TEXT, "rise_sample_g" REAL, "target_rise" REAL, "ripeness" TEXT, "bake_temp_c" REAL, "bake_minutes" REAL, "crust_score" REAL, "notes" TEXT,
            UNIQUE (kitchen, batch_id)
        ) STRICT;
INSERT INTO batches VALUES(1,1,-4136008557378263285,'home','2026-03-01-1','2026-03-01T08:30',1000.0,621.0,25.0,2.0,'fresh',NULL,'invented tray bread',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,1.5,NULL,24.0,4.5,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO batches VALUES(2,1,-4729224340570342355,'home','2026-03-02-1','2026-03-02T08:30',1000.0,622.0,NULL,2.0,'fresh',2.2000000000000001776,'invented tray bread',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,1.5,NULL,24.0,4.5,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'ready',NULL,NULL,NULL,NULL);
INSERT INTO batches VALUES(3,1,-4632327217538215266,'hall','B3','2026-03-03T08:30',1000.0,623.0,25.0,2.0,'fresh',NULL,'invented tray bread',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,1.5,NULL,24.0,4.5,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE readings (
            n INTEGER PRIMARY KEY,
            added_by INTEGER NOT NULL REFERENCES imports (n),
            seal INTEGER NOT NULL,
            batch INTEGER NOT NULL REFERENCES batches (n),
            vessel TEXT NOT NULL,
            hours REAL NOT NULL,
            rise REAL,
            dough_temp_c REAL,
            UNIQUE (batch, vessel, hours)
        ) STRICT;
INSERT INTO readings VALUES(1,1,-3090060996787009166,1,'dough',1.5,1.25,23.499999999999999999);
INSERT INTO readings VALUES(2,1,-3744739454968881427,3,'preferment',4.0,2.0,NULL);
CREATE TABLE surroundings (
            n INTEGER PRIMARY KEY,
            added_by INTEGER NOT NULL REFERENCES imports (n),
            seal INTEGER NOT NULL,
            batch INTEGER NOT NULL REFERENCES batches (n),
            hours REAL NOT NULL,
            surroundings_temp_c REAL,
            UNIQUE (batch, hours)
        ) STRICT;
INSERT INTO surroundings VALUES(1,1,3732852677191033495,3,0.0,21.5);
CREATE TABLE changes (
            n INTEGER PRIMARY KEY,
            subject TEXT NOT NULL CHECK (subject IN ('batches', 'readings', 'surroundings')),
            row INTEGER NOT NULL,
            import INTEGER NOT NULL REFERENCES imports (n),
            col TEXT NOT NULL,
            former ANY,
            seal INTEGER NOT NULL,
            UNIQUE (subject, row, import, col)
        ) STRICT;
INSERT INTO changes VALUES(1,'batches',2,2,'ripeness',NULL,-7315403969956763835);
INSERT INTO changes VALUES(2,'batches',2,2,'rise',NULL,4396755839727360764);
INSERT INTO changes VALUES(3,'batches',2,2,'salt_g',25.0,4407823036393981180);
CREATE TABLE fits (
            n INTEGER PRIMARY KEY,
            kitchen TEXT NOT NULL,
            made_at TEXT NOT NULL,
            program_version TEXT NOT NULL,
            method TEXT NOT NULL,
            seed INTEGER NOT NULL,
            settings TEXT NOT NULL,
            data_hash TEXT NOT NULL,
            summary TEXT NOT NULL,
            names TEXT NOT NULL,
            draws_seal INTEGER NOT NULL,
            draws BLOB NOT NULL DEFAULT x'',
            seal INTEGER NOT NULL
        ) STRICT;
INSERT INTO fits VALUES(1,'home','2026-03-06T19:00:00Z','0.1.0','quick',-1,'{"starts":4}','36308c7dbf81ca07af5d44479593e1b9af7947a383d4832a12d25f24c88e77c6','{"khat":0.25}','["a","b"]',-7396895618409622689,X'000000000000e03f000000000000f8bf555555555555d53f0000000000000040',-2801190242608252093);
CREATE TABLE plans (
            n INTEGER PRIMARY KEY,
            kitchen TEXT NOT NULL,
            plan_id TEXT NOT NULL,
            made_at TEXT NOT NULL,
            plan TEXT NOT NULL,
            predicted TEXT NOT NULL,
            became TEXT,
            seal INTEGER NOT NULL
        ) STRICT;
INSERT INTO plans VALUES(1,'home','plan-2026-03-02-1','2026-03-06T18:00:00Z','{"date":"2026-03-02T08:30","flour_g":1000.0,"water_g":622.0,"salt_g":25.0,"yeast_g":2.0,"yeast_type":"fresh","recipe":"invented tray bread","bulk_hours":1.5,"cold_hours":24.0,"cold_temp_c":4.5,"target_rise":2.1}','{"rise":2.1}','2026-03-02-1',-2197014490849718620);
CREATE TABLE kept (
            n INTEGER PRIMARY KEY,
            name TEXT NOT NULL UNIQUE,
            kept_at TEXT NOT NULL,
            content TEXT NOT NULL,
            seal INTEGER NOT NULL
        ) STRICT;
INSERT INTO kept VALUES(1,'columns of shape','2026-11-25T15:00:07.487003235Z','flour = "flour_g"',-2977406179163215011);
CREATE INDEX fits_of ON fits (kitchen, n);
CREATE INDEX plans_of ON plans (kitchen, plan_id);
COMMIT;
