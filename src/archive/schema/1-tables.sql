-- Version 1, the tables: the same on every server. A shop's rows all lie in one partition.
CREATE SCHEMA brakecorner;
CREATE TABLE brakecorner.schema_version (
    version int NOT NULL,
    applied_at timestamptz NOT NULL DEFAULT clock_timestamp(),
    program text NOT NULL
);
-- How many parts the shops are divided into by the hash of their id, which of them lie here, and
-- whether this is head office's server, that holds none and reads the others'.
CREATE TABLE brakecorner.layout (
    modulus int NOT NULL CHECK (modulus BETWEEN 1 AND 1024),
    remainder int NOT NULL CHECK (remainder >= 0 AND remainder < modulus),
    server text NOT NULL DEFAULT '',
    PRIMARY KEY (modulus, remainder)
);
CREATE TABLE brakecorner.shop (
    shop_id text NOT NULL PRIMARY KEY CHECK (shop_id ~ '^[a-z0-9][a-z0-9-]{0,31}$')
);
CREATE TABLE brakecorner.member (
    rolname name NOT NULL PRIMARY KEY,
    shop_id text NOT NULL REFERENCES brakecorner.shop
);
-- What was signed, byte for byte.
CREATE TABLE brakecorner.record (
    shop_id text NOT NULL,
    job_id text NOT NULL,
    revision int NOT NULL CHECK (revision > 0),
    digest bytea NOT NULL CHECK (octet_length(digest) = 32),
    body bytea COMPRESSION lz4 NOT NULL,
    sig bytea NOT NULL,
    received_at timestamptz NOT NULL DEFAULT clock_timestamp()
) PARTITION BY HASH (shop_id);
-- What came beside it, perhaps later: a second person's signature, a time-stamp.
CREATE TABLE brakecorner.seal (
    shop_id text NOT NULL,
    digest bytea NOT NULL,
    kind text NOT NULL CHECK (kind IN ('countersignature', 'stamp')),
    body bytea NOT NULL,
    received_at timestamptz NOT NULL DEFAULT clock_timestamp()
) PARTITION BY HASH (shop_id);
-- The workshop's name and register of instruments, each time it changed.
CREATE TABLE brakecorner.workshop (
    shop_id text NOT NULL,
    received_at timestamptz NOT NULL DEFAULT clock_timestamp(),
    name text NOT NULL,
    register text NOT NULL
) PARTITION BY HASH (shop_id);
-- From here on: derived from the record, in the same transaction.
CREATE TABLE brakecorner.visit (
    shop_id text NOT NULL,
    digest bytea NOT NULL,
    job_id text NOT NULL,
    revision int NOT NULL,
    vin text NOT NULL,
    registration text NOT NULL,
    opened_at timestamptz NOT NULL,
    odometer_km bigint NOT NULL,
    signed_at timestamptz NOT NULL,
    signer text NOT NULL,
    fingerprint text NOT NULL,
    device text NOT NULL,
    sequence bigint NOT NULL,
    previous text NOT NULL,
    stage text NOT NULL,
    state text NOT NULL,
    as_found text NOT NULL,
    as_left text NOT NULL,
    derived_by int NOT NULL,
    summary text COMPRESSION lz4 NOT NULL
) PARTITION BY HASH (shop_id);
CREATE TABLE brakecorner.item_verdict (
    shop_id text NOT NULL,
    digest bytea NOT NULL,
    n smallint NOT NULL,
    place text NOT NULL,
    item text NOT NULL,
    phase text NOT NULL,
    verdict text NOT NULL,
    proof text,
    urgency text
) PARTITION BY HASH (shop_id);
CREATE TABLE brakecorner.result (
    shop_id text NOT NULL,
    digest bytea NOT NULL,
    n smallint NOT NULL,
    place text NOT NULL,
    item text NOT NULL,
    phase text NOT NULL,
    value float8 NOT NULL,
    unit text NOT NULL,
    limit_value float8,
    u float8,
    conformance_probability float8
) PARTITION BY HASH (shop_id);
CREATE TABLE brakecorner.instrument_use (
    shop_id text NOT NULL,
    digest bytea NOT NULL,
    instrument text NOT NULL,
    uses int NOT NULL
) PARTITION BY HASH (shop_id);
-- What is due of a vehicle at a shop, as it stood after so many of its records.
CREATE TABLE brakecorner.due_state (
    shop_id text NOT NULL,
    vin text NOT NULL,
    known int NOT NULL,
    digest bytea NOT NULL,
    derived_by int NOT NULL
) PARTITION BY HASH (shop_id);
CREATE TABLE brakecorner.due (
    shop_id text NOT NULL,
    vin text NOT NULL,
    known int NOT NULL,
    n smallint NOT NULL,
    kind text NOT NULL,
    subject text NOT NULL,
    vehicle text NOT NULL,
    what text NOT NULL,
    date date,
    km bigint,
    from_km bigint,
    from_day date,
    km_per_day float8,
    at_time text,
    basis text NOT NULL
) PARTITION BY HASH (shop_id);
