-- output: work_island, the work that touched stretches hang together with
-- grain:  one row a person and island
-- time:   from_us to to_us, microseconds UTC
-- before is the number of the spell before the island if less than a long rest lies between, else null; staying is
-- how many earlier spells stay.
create or replace temp table work_island as
select
    unnest($person::varchar[]) as person, unnest($from_us::bigint[]) as from_us, unnest($to_us::bigint[]) as to_us,
    unnest($staying::bigint[]) as staying, unnest($before::bigint[]) as before
