-- Version 1, on every server, once the partitions are there: head office reads all, and shops no
-- partition directly.
GRANT USAGE ON SCHEMA brakecorner TO brakecorner_shop, brakecorner_office;
GRANT SELECT ON ALL TABLES IN SCHEMA brakecorner TO brakecorner_office;
