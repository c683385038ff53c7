-- output: the time around logged work that has come, gone or changed
-- grain:  one row a person and UTC day, a stretch
-- time:   from_us to_us, microseconds UTC, from the day's first touched work to its last
-- Read are the rows that differ, whole where a file came or went.
select person, min(first_us) as from_us, max(last_us) as to_us
from ({logged})
group by person, first_us // 86400000000
