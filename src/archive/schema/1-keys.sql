-- Version 1, keys and row-level security: on every server that holds rows.
ALTER TABLE brakecorner.record
    ADD PRIMARY KEY (shop_id, job_id, revision), ADD UNIQUE (shop_id, digest);
ALTER TABLE brakecorner.seal ADD PRIMARY KEY (shop_id, digest, kind),
    ADD FOREIGN KEY (shop_id, digest) REFERENCES brakecorner.record (shop_id, digest);
ALTER TABLE brakecorner.workshop ADD PRIMARY KEY (shop_id, received_at);
ALTER TABLE brakecorner.visit ADD PRIMARY KEY (shop_id, job_id, revision), ADD UNIQUE (shop_id, digest),
    ADD FOREIGN KEY (shop_id, digest) REFERENCES brakecorner.record (shop_id, digest);
-- No foreign keys on the rows that come by the dozen: they cost more than all the rest, and the
-- audit derives them anew.
ALTER TABLE brakecorner.item_verdict ADD PRIMARY KEY (shop_id, digest, n);
ALTER TABLE brakecorner.result ADD PRIMARY KEY (shop_id, digest, n);
ALTER TABLE brakecorner.instrument_use ADD PRIMARY KEY (shop_id, digest, instrument);
ALTER TABLE brakecorner.due_state ADD PRIMARY KEY (shop_id, vin, known);
ALTER TABLE brakecorner.due ADD PRIMARY KEY (shop_id, vin, known, n);
CREATE INDEX visit_vin ON brakecorner.visit (vin);
CREATE INDEX visit_registration ON brakecorner.visit (registration) WHERE registration <> '';
CREATE INDEX instrument_use_instrument ON brakecorner.instrument_use (shop_id, instrument);
CREATE INDEX due_date ON brakecorner.due (date);

-- A shop's role sees and adds its own rows. The sub-select is read once a statement and before any
-- other condition; a setting could be set by anybody, and a function's check may come too late.
DO $$
DECLARE one text;
BEGIN
    FOREACH one IN ARRAY ARRAY['record', 'seal', 'workshop', 'visit', 'item_verdict', 'result',
        'instrument_use', 'due_state', 'due']
    LOOP
        EXECUTE format('ALTER TABLE brakecorner.%I ENABLE ROW LEVEL SECURITY', one);
        EXECUTE format('CREATE POLICY shop_reads ON brakecorner.%I FOR SELECT TO brakecorner_shop
            USING (shop_id = (SELECT m.shop_id FROM brakecorner.member m WHERE m.rolname = current_user))', one);
        EXECUTE format('CREATE POLICY shop_adds ON brakecorner.%I FOR INSERT TO brakecorner_shop
            WITH CHECK (shop_id = (SELECT m.shop_id FROM brakecorner.member m WHERE m.rolname = current_user))', one);
        EXECUTE format('CREATE POLICY office_reads ON brakecorner.%I FOR SELECT TO brakecorner_office
            USING (true)', one);
    END LOOP;
END $$;
ALTER TABLE brakecorner.member ENABLE ROW LEVEL SECURITY;
CREATE POLICY own ON brakecorner.member FOR SELECT TO brakecorner_shop USING (rolname = current_user);
CREATE POLICY office_reads ON brakecorner.member FOR SELECT TO brakecorner_office USING (true);
ALTER TABLE brakecorner.shop ENABLE ROW LEVEL SECURITY;
CREATE POLICY own ON brakecorner.shop FOR SELECT TO brakecorner_shop
    USING (shop_id = (SELECT m.shop_id FROM brakecorner.member m WHERE m.rolname = current_user));
CREATE POLICY office_reads ON brakecorner.shop FOR SELECT TO brakecorner_office USING (true);

GRANT SELECT ON ALL TABLES IN SCHEMA brakecorner TO brakecorner_shop;
-- The time of receipt is the server's to say.
GRANT INSERT (shop_id, job_id, revision, digest, body, sig) ON brakecorner.record TO brakecorner_shop;
GRANT INSERT (shop_id, digest, kind, body) ON brakecorner.seal TO brakecorner_shop;
GRANT INSERT (shop_id, name, register) ON brakecorner.workshop TO brakecorner_shop;
GRANT INSERT ON brakecorner.visit, brakecorner.item_verdict, brakecorner.result,
    brakecorner.instrument_use, brakecorner.due_state, brakecorner.due TO brakecorner_shop;
