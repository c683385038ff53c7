-- output: buckets of stroke events in which several instruments were used, taken apart
-- grain:  one row a person, bucket and instrument, of such buckets
-- time:   start_us to end_us, microseconds UTC; the rows of a bucket tile its slice, which begins at slice_us
-- A slice lasts to the next bucket's first event, or to its own last event where a rest follows. Instruments
-- share it in order of first use, by their number of events (cumulative floor). A slice is shorter than two
-- rests, so the products fit. A product less its remainder divides without one; rounding only undoes what a
-- division in doubles adds. Shared words of two engines.
select
    person, zone, bucket, instrument, strokes, tips, slice_us, slice_last_us,
    case when so_far = events then 1 else 0 end as is_first,
    slice_us + cast(round((opening - opening % slice_events) / slice_events) as bigint) as start_us,
    slice_us + cast(round((closing - closing % slice_events) / slice_events) as bigint) as end_us
from (
    select
        *,
        (until_us - slice_us) * (so_far - events) as opening,
        (until_us - slice_us) * so_far as closing
    from (
        select
            b.*,
            case when next_us - slice_last_us < s.rest_us then next_us else slice_last_us end as until_us
        from (
            select
                person, zone, bucket, instrument, strokes, tips, events,
                min(first_us) over (partition by no, bucket) as slice_us,
                max(last_us) over (partition by no, bucket) as slice_last_us,
                cast(sum(events) over (partition by no, bucket) as bigint) as slice_events,
                max(case when after_bucket > bucket then after_first_us end) over (partition by no, bucket)
                    as next_us,
                cast(sum(events) over (
                    partition by no, bucket order by first_us, instrument
                    rows between unbounded preceding and current row
                ) as bigint) as so_far
            from work_event_sequence
            where alone = 0
        ) as b cross join work_setting as s
    ) as whole
) as shared
