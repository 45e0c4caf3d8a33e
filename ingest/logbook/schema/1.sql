CREATE TABLE bike (
	id   INTEGER PRIMARY KEY,
	name TEXT NOT NULL UNIQUE
);
CREATE TABLE fork (
	id             INTEGER PRIMARY KEY,
	bike_id        INTEGER REFERENCES bike(id),
	name           TEXT NOT NULL UNIQUE,
	travel_mm      REAL NOT NULL,
	head_angle_deg REAL NOT NULL DEFAULT 0
);
-- Times are ms since 1970, UTC.
-- The fork file as it was when a run was filed: fork, sensor and calibration.
CREATE TABLE calibration (
	id      INTEGER PRIMARY KEY,
	fork_id INTEGER NOT NULL REFERENCES fork(id),
	content TEXT NOT NULL,
	at      INTEGER NOT NULL,
	UNIQUE (fork_id, content)
);
CREATE TABLE trail (
	id   INTEGER PRIMARY KEY,
	name TEXT NOT NULL UNIQUE
);
CREATE TABLE session (
	id   INTEGER PRIMARY KEY,
	name TEXT NOT NULL UNIQUE
);
-- A setup is its canonical JSON, so that equal setups are one row.
CREATE TABLE setup (
	id      INTEGER PRIMARY KEY,
	fork_id INTEGER NOT NULL REFERENCES fork(id),
	content TEXT NOT NULL,
	UNIQUE (fork_id, content)
);
-- What is on the fork now: the last row of a fork.
CREATE TABLE mounted (
	id       INTEGER PRIMARY KEY,
	fork_id  INTEGER NOT NULL REFERENCES fork(id),
	setup_id INTEGER NOT NULL REFERENCES setup(id),
	at       INTEGER NOT NULL
);
CREATE INDEX mounted_fork ON mounted(fork_id, id);
CREATE TABLE run (
	id             INTEGER PRIMARY KEY,
	hash           TEXT NOT NULL UNIQUE,
	file           TEXT NOT NULL,
	bytes          INTEGER NOT NULL,
	track_hash     TEXT NOT NULL DEFAULT '',
	track_file     TEXT NOT NULL DEFAULT '',
	name           TEXT NOT NULL,
	fork_id        INTEGER NOT NULL REFERENCES fork(id),
	setup_id       INTEGER NOT NULL REFERENCES setup(id),
	calibration_id INTEGER REFERENCES calibration(id),
	trail_id       INTEGER REFERENCES trail(id),
	session_id     INTEGER REFERENCES session(id),
	ridden_at      INTEGER NOT NULL,
	added_at       INTEGER NOT NULL,
	duration_s     REAL NOT NULL DEFAULT 0,
	riding_s       REAL NOT NULL DEFAULT 0,
	schema_version INTEGER NOT NULL DEFAULT 0,
	definitions    TEXT NOT NULL DEFAULT ''
);
CREATE INDEX run_ridden ON run(ridden_at, id);
CREATE INDEX run_fork ON run(fork_id, ridden_at);
CREATE TABLE figure (
	key    TEXT NOT NULL,
	run_id INTEGER NOT NULL REFERENCES run(id) ON DELETE CASCADE,
	value  REAL,
	n      INTEGER NOT NULL DEFAULT 0,
	absent TEXT NOT NULL DEFAULT '',
	PRIMARY KEY (key, run_id)
) WITHOUT ROWID;
CREATE INDEX figure_run ON figure(run_id);
CREATE TABLE note (
	id     INTEGER PRIMARY KEY,
	run_id INTEGER NOT NULL REFERENCES run(id) ON DELETE CASCADE,
	at     INTEGER NOT NULL,
	text   TEXT NOT NULL
);
CREATE INDEX note_run ON note(run_id);
CREATE TABLE service_plan (
	fork_id     INTEGER NOT NULL REFERENCES fork(id),
	what        TEXT NOT NULL,
	every_hours REAL NOT NULL,
	PRIMARY KEY (fork_id, what)
);
CREATE TABLE service (
	id      INTEGER PRIMARY KEY,
	fork_id INTEGER NOT NULL REFERENCES fork(id),
	what    TEXT NOT NULL,
	at      INTEGER NOT NULL
);
