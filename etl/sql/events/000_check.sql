-- output: what is wrong with the rows of a stroke log that is read in place
-- grain:  one row
-- time:   at_us in microseconds UTC, from {first_us} (included) to {last_us} (not included)
-- Shared words of two engines.
select
    count(*) as events,
    count(case when person is null or at_us is null or instrument is null or action is null then 1 end)
        as missing,
    count(case when action not in ({actions}) then 1 end) as strange,
    count(case when at_us < {first_us} or at_us >= {last_us} then 1 end) as untimely
from {events}
