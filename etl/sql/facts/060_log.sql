-- output: work_log, bouts of both origins in one order
-- grain:  one row a bout as recorded
-- time:   start_us to end_us, microseconds UTC
-- The order uses every recorded value and no file or row number: files may come in any order. `knot` numbers
-- the person's groups of bouts that hang together by overlap; a bout alone in its knot overlaps nothing.
create or replace temp table work_log as
with both_logs as (
    select
        person, start_us, end_us, tz, task, instrument, strokes, tips, station, 'bouts' as origin
    from work_recorded
    union all
    select
        person, start_us, end_us, tz, 'UNKNOWN', instrument, strokes, tips, null, 'strokes'
    from work_event_bout
),
ordered as (
    select
        *,
        row_number() over in_order as place,
        max(end_us) over (in_order rows between unbounded preceding and 1 preceding) as reached_us
    from both_logs
    window in_order as (
        partition by person
        order by start_us, end_us, origin, task, instrument, strokes, tips, station, tz
    )
)
select
    * exclude (reached_us),
    count(*) filter (where reached_us is null or start_us >= reached_us) over (
        partition by person order by place rows unbounded preceding
    ) as knot
from ordered
