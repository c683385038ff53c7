-- output: bouts without a number of tips; their force-time is unknown
-- grain:  one row a bout
-- time:   instants, shown in UTC
select concat_ws(' ', person, make_timestamp(start_us)) as offender from core.bouts where tips is null
