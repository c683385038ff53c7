-- output: bouts whose start was moved to the end of an earlier bout of the same person
-- grain:  one row a bout
-- time:   instants, shown in UTC
select concat_ws(' ', person, make_timestamp(start_us)) as offender
from facts.overlap
where reason = 'W_CLIP'
