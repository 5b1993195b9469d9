-- Version 2: an audit divided into ranges that many workers take in turn. Here alone somebody may
-- change a row: head office the column `claim`, which holds nothing and is never written; the right
-- to it is what locking a row asks for.
CREATE TABLE brakecorner.audit_run (
    run_id uuid NOT NULL DEFAULT gen_random_uuid() PRIMARY KEY,
    started_at timestamptz NOT NULL DEFAULT clock_timestamp(),
    started_by name NOT NULL DEFAULT current_user,
    ranges int NOT NULL
);
CREATE TABLE brakecorner.audit_range (
    run_id uuid NOT NULL REFERENCES brakecorner.audit_run,
    n int NOT NULL,
    shop_id text NOT NULL,
    first_job text NOT NULL,
    last_job text NOT NULL,
    records bigint NOT NULL,
    claim int,
    PRIMARY KEY (run_id, n)
);
CREATE TABLE brakecorner.audit_result (
    run_id uuid NOT NULL,
    n int NOT NULL,
    worker text NOT NULL,
    done_at timestamptz NOT NULL DEFAULT clock_timestamp(),
    records bigint NOT NULL,
    valid bigint NOT NULL,
    newer bigint NOT NULL,
    problems text NOT NULL,
    PRIMARY KEY (run_id, n),
    FOREIGN KEY (run_id, n) REFERENCES brakecorner.audit_range
);
GRANT SELECT ON brakecorner.audit_run, brakecorner.audit_range, brakecorner.audit_result TO brakecorner_office;
GRANT INSERT (run_id, ranges) ON brakecorner.audit_run TO brakecorner_office;
GRANT INSERT (run_id, n, shop_id, first_job, last_job, records) ON brakecorner.audit_range TO brakecorner_office;
GRANT UPDATE (claim) ON brakecorner.audit_range TO brakecorner_office;
GRANT INSERT (run_id, n, worker, records, valid, newer, problems) ON brakecorner.audit_result TO brakecorner_office;
