-- output: bouts left out because an earlier bout of the same person covers their time
-- grain:  one row a bout
-- time:   instants, shown in UTC
select concat_ws(' ', person, make_timestamp(start_us)) as offender
from facts.overlap
where reason = 'E_OVERLAP'
