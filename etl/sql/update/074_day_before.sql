-- output: the days of the spells that end less than a long rest before an island
-- grain:  one row a person and local day
-- time:   local_date
-- The rest up to the island counts there, so they are reckoned anew as well.
select b.person, max(b.local_date) as local_date
from facts.bout_piece b join work_island i on i.person = b.person and i.before = b.spell
group by b.person, b.spell
