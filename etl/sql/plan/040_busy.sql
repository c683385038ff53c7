-- output: teams where another change is at work, or planned, in the months a plan needs
-- grain:  one row a team
-- time:   from $begin, the first month of the plan; an entry without a day of completion counts throughout
select team, string_agg(distinct title, ', ' order by title) as titles
from core.changes
where status <> 'DROPPED' and (completed is null or completed > $begin)
group by team
order by team
