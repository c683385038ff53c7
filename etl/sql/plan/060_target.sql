-- output: target regions of the register, as written there
-- grain:  one row a change
-- time:   as the register stands
select target_regions from core.changes
where status <> 'DROPPED' and target_regions is not null
order by coalesce(started, planned, completed) desc, change
