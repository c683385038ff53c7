-- output: facts.setting, the working rules these facts were built with
-- grain:  one row
-- time:   durations in whole microseconds
-- A bucket no wider than the shortest rest cannot hide a rest, so it never exceeds three minutes.
create or replace table facts.setting as
select
    cast($rest_us as bigint) as rest_us,
    cast($long_rest_us as bigint) as long_rest_us,
    cast($guide_us as bigint) as guide_us,
    cast($clip_us as bigint) as clip_us,
    least(cast($rest_us as bigint), 180000000) as bucket_us,
    cast($case_score as smallint) as case_score
