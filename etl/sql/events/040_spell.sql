-- output: spells of stroke events
-- grain:  one row a person and spell, numbered in time order
-- time:   start_us to end_us, microseconds UTC; last_us opens its last slice; next_us is the next spell's start
-- The bucket before an opening ends the spell before it. Where several instruments share that bucket, the row
-- before may have ended early: the whole slice decides. Shared words of two engines.
with shared as (
    select person, bucket, slice_us, slice_last_us from work_event_slice where is_first = 1
),
candidate as (
    select
        o.person, o.zone, o.first_us,
        case when w.bucket is null then o.before_first_us else w.slice_us end as before_first_us,
        case when w.bucket is null then o.before_last_us else w.slice_last_us end as before_last_us
    from (
        select q.*
        from work_event_sequence as q cross join work_setting as s
        where before_bucket is null or (first_us - before_last_us >= s.rest_us and bucket > before_bucket)
    ) as o
    left join shared as w on w.person = o.person and w.bucket = o.before_bucket
),
opened as (
    select c.*
    from candidate as c cross join work_setting as s
    where c.before_last_us is null or c.first_us - c.before_last_us >= s.rest_us
),
final as (
    select
        q.person,
        case when w.bucket is null then q.last_us else w.slice_last_us end as last_us,
        case when w.bucket is null then q.first_us else w.slice_us end as first_us
    from work_event_sequence as q
    left join shared as w on w.person = q.person and w.bucket = q.bucket
    where q.after_bucket is null
)
select
    o.person, o.zone, o.first_us as start_us,
    row_number() over (partition by o.person order by o.first_us) as spell,
    lead(o.first_us) over (partition by o.person order by o.first_us) as next_us,
    coalesce(lead(o.before_last_us) over (partition by o.person order by o.first_us), f.last_us) as end_us,
    coalesce(lead(o.before_first_us) over (partition by o.person order by o.first_us), f.first_us) as last_us
from opened as o
join final as f on f.person = o.person
