-- output: work_verdict, as in facts/070_verdict, where nothing overlaps
-- grain:  none
-- time:   none
create or replace temp table work_verdict as
select null::varchar as person, null::bigint as place, null::bigint as kept_from_us, true as kept where false
