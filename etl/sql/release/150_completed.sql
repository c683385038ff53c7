-- output: changes that every team concerned has completed
-- grain:  one row a change
-- time:   completed by $last_day
select
    change, min(kind) as kind, list(distinct team order by team) as teams,
    min(coalesce(started, completed)) as started, max(completed) as completed
from core.changes
group by change
having count(*) = count(completed) and max(completed) <= $last_day
order by change
