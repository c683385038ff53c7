-- output: work_event_bucket, stroke events gathered into short buckets
-- grain:  one row a person, instrument and bucket (three minutes, or one rest if that is shorter)
-- time:   first_us and last_us, microseconds UTC, of the events in the bucket
-- Two events of one bucket lie closer than a rest: spells found on buckets are exact, on a far smaller table.
-- One dispense is one stroke cycle; an ejection is one tip.
create or replace temp table work_event_bucket as
select
    e.person,
    e.at_us // s.bucket_us as bucket,
    e.instrument,
    min(e.tz) as tz,
    min(e.at_us) as first_us,
    max(e.at_us) as last_us,
    count(*) as events,
    count(*) filter (where e.action = 'DISPENSE') as strokes,
    count(*) filter (where e.action = 'EJECT') as tips
from core.strokes e cross join facts.setting s
group by e.person, e.at_us // s.bucket_us, e.instrument
