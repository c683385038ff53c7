-- output: new versions for core.change_history
-- grain:  one row a change whose entry differs from the last version known, or is gone
-- time:   $noted_at, UTC
with last as (
    select change, max(version) as version, arg_max(entry, version) as entry, arg_max(action, version) as action
    from core.change_history
    group by change
),
now as (
    -- Fields that came later are named only where they say something: an old entry is not altered by their coming.
    select c.change, json_merge_patch(to_json({
        title: c.title, kind: c.kind, control_level: c.control_level, team: c.team, planned: c.planned,
        started: c.started, completed: c.completed, why: c.why, chosen_on_outcome: c.chosen_on_outcome,
        target_regions: c.target_regions, expected_points: c.expected_points,
        adherence_percent: c.adherence_percent, cost: c.cost, owner_role: c.owner_role, status: c.status
    }), case when c.allocation is null and c.lot is null then '{}'::json
        else to_json({allocation: c.allocation, lot: c.lot}) end)::varchar as entry
    from core.changes c
)
insert into core.change_history
select
    coalesce(n.change, l.change), coalesce(l.version, 0) + 1, $noted_at,
    case when n.change is null then 'taken back' when l.change is null then 'entered' else 'altered' end,
    n.entry
from now n
full join last l on l.change = n.change
where (n.change is null and l.action <> 'taken back') or n.entry is distinct from l.entry and n.change is not null
