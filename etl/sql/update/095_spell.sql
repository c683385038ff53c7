-- output: work_spell, the spells on and around the days to reckon anew
-- grain:  one row a spell
-- time:   start_us to end_us, microseconds UTC
-- {around_us} is longer than a long rest and the local days before and after.
create or replace temp table work_spell as
select p.person, p.spell, p.start_us, p.end_us
from facts.spell p
semi join work_island i on i.person = p.person
where p.end_us >= {first_us} - {around_us} and p.start_us <= {last_us} + {around_us}
