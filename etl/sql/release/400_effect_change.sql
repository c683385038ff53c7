-- output: changes in every team, as far as they are known by the end of the month
-- grain:  one row a change and team, those dropped left out
-- time:   started and completed are DATEs, null where later than $last_day or unknown
-- Adherence is the mean of the months noted since completion; where none is noted, what the register says.
with noted as (
    select change, month, arg_max(adherence_percent, noted_at) as percent
    from core.change_adherence where month <= $last_day group by change, month
)
select
    change, title, kind, team, chosen_on_outcome, target_regions, expected_points,
    coalesce(
        (select avg(n.percent) from noted n where n.change = c.change
            and (c.completed is null or n.month >= date_trunc('month', c.completed))),
        adherence_percent
    ) as adherence_percent,
    cost, allocation, lot,
    case when coalesce(started, completed) <= $last_day then coalesce(started, completed) end as started,
    case when completed <= $last_day then completed end as completed
from core.changes c
where status <> 'DROPPED'
order by change, team
