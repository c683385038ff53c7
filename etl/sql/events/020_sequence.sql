-- output: buckets of stroke events along each person's time, each with its neighbours
-- grain:  one row a person, bucket and instrument, of the persons in work_event_person
-- time:   microseconds UTC
-- A row is alone if no other instrument was used in its bucket; the others are taken apart in work_event_slice.
-- One sort, no running sums: this is the largest table that is ever sorted. Shared words of two engines.
select
    n.*, case when bucket = before_bucket or bucket = after_bucket then 0 else 1 end as alone
from (
    select
        q.*,
        before_first_us - before_first_us % s.bucket_us as before_bucket,
        after_first_us - after_first_us % s.bucket_us as after_bucket
    from (
        select
            b.person, z.no, z.zone, b.bucket, b.instrument, b.events, b.strokes, b.tips, b.first_us, b.last_us,
            lag(b.first_us) over (partition by z.no order by b.first_us) as before_first_us,
            lag(b.last_us) over (partition by z.no order by b.first_us) as before_last_us,
            lead(b.first_us) over (partition by z.no order by b.first_us) as after_first_us
        from work_event_bucket as b
        join work_event_person as z on z.person = b.person
    ) as q cross join work_setting as s
) as n
