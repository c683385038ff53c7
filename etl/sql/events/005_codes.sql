-- output: how many codes of a log's buckets the store cannot take, and persons it does not know
-- grain:  one row
-- time:   none
with persons as (select distinct person from work_log_bucket),
instruments as (select distinct instrument from work_log_bucket)
select
    (select count(*) from persons where not regexp_full_match(person, '[A-Za-z0-9_.:-]{1,64}'))
    + (select count(*) from instruments where not regexp_full_match(instrument, '[A-Z0-9_-]{1,32}')) as strange,
    (select count(*) from persons n anti join core.people p on p.person = n.person) as unknown
