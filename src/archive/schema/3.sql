-- Version 3: jobs are in the order of their bytes on every server, whatever its language, so that
-- an audit's range of jobs is found by the key and not by reading all of a shop's.
ALTER TABLE brakecorner.record ALTER COLUMN job_id TYPE text COLLATE "C";
ALTER TABLE brakecorner.visit ALTER COLUMN job_id TYPE text COLLATE "C";
