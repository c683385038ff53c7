-- output: work_person_week, a person's pipetting in one ISO week
-- grain:  one row a person and week with any logged work
-- time:   week_start is the Monday; iso_week such as '2026-W41'; durations in microseconds
-- A week on two teams belongs to the team of most of its days with work, the later one if equal.
create or replace temp table work_person_week as
with on_team as (
    select
        person, date_trunc('week', local_date)::date as week_start, team,
        min(local_date) as first_date, max(local_date) as last_date, count(*) as days,
        sum(pipetting_us) as pipetting_us, sum(strokes) as strokes,
        max(longest_spell_us) as longest_spell_us, sum(beyond_guide_us) as beyond_guide_us,
        sum(rests_micro) as rests_micro, sum(rests_long) as rests_long,
        sum(force_time_mn_ms) as force_time_mn_ms, count(force_time_mn_ms) as force_days,
        sum(force_known_us) as force_known_us,
        max(peak_force_mn) as peak_force_mn, count(peak_force_mn) as peak_days
    from work_person_day
    group by person, date_trunc('week', local_date)::date, team
)
select
    person, week_start, strftime(min(first_date), '%G-W%V') as iso_week,
    arg_max(team, (days, last_date)) filter (where team is not null) as team,
    sum(days)::integer as days,
    sum(pipetting_us)::bigint as pipetting_us, sum(strokes)::bigint as strokes,
    max(longest_spell_us) as longest_spell_us, sum(beyond_guide_us)::bigint as beyond_guide_us,
    sum(rests_micro)::integer as rests_micro, sum(rests_long)::integer as rests_long,
    case when sum(days) = sum(force_days) then sum(force_time_mn_ms)::bigint end as force_time_mn_ms,
    sum(force_known_us)::bigint as force_known_us,
    case when sum(days) = sum(peak_days) then max(peak_force_mn) end as peak_force_mn
from on_team
group by person, week_start
order by person, week_start
