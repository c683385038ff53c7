-- output: how many new spells each island has
-- grain:  one row an island, in order
-- time:   none
select count(distinct b.spell) as spells
from work_island i
left join work_new_piece b on b.person = i.person and b.start_us between i.from_us and i.to_us
group by i.person, i.from_us
order by i.person, i.from_us
