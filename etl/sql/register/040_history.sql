-- output: versions of the register's entries, in the columns of release table change_history without the edition
-- grain:  one row a change and version
-- time:   noted_on, the DATE (UTC) on which the version was noticed; up to $day
select
    change, version, noted_at::date as noted_on, action,
    entry ->> '$.status' as status,
    (entry ->> '$.planned')::date as planned, (entry ->> '$.started')::date as started,
    (entry ->> '$.completed')::date as completed, (entry ->> '$.adherence_percent')::double as adherence_percent,
    entry ->> '$.allocation' as allocation, entry ->> '$.lot' as lot
from core.change_history
where change in (
    select change from core.changes
    where coalesce(planned, started, completed) <= $day or coalesce(planned, started, completed) is null
)
order by change, version
