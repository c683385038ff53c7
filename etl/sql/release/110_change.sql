-- output: the register of changes as it stood when the edition was made
-- grain:  one row a change and team
-- time:   planned, started and completed are DATEs
select
    change, title, kind, control_level, team, planned, started, completed, why, chosen_on_outcome,
    target_regions, expected_points, adherence_percent, cost, owner_role, status
from core.changes
where coalesce(planned, started, completed) <= $last_day or coalesce(planned, started, completed) is null
order by change, team
