-- output: changes in every team, as far as they are known by the end of the month
-- grain:  one row a change and team, those dropped left out
-- time:   started and completed are DATEs, null where later than $last_day or unknown
select
    change, title, kind, team, chosen_on_outcome, target_regions, expected_points, adherence_percent, cost,
    case when coalesce(started, completed) <= $last_day then coalesce(started, completed) end as started,
    case when completed <= $last_day then completed end as completed
from core.changes
where status <> 'DROPPED'
order by change, team
