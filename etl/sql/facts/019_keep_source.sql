-- output: facts.event_bucket, facts.source_day, facts.source_extent and facts.built_from, what the facts rest on
-- grain:  as the working tables of the same contents; facts.built_from has one row a file of the ledger
-- time:   first_us and last_us, microseconds UTC
create or replace table facts.event_bucket as from work_new_bucket;
create or replace table facts.source_day as from work_new_day;
create or replace table facts.source_extent as from work_new_extent;
create or replace table facts.built_from as select * from {ledger}
