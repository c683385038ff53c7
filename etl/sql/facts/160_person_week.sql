-- output: work_person_week, a person's pipetting in one ISO week
-- grain:  one row a person and week with any logged work
-- time:   week_start is the Monday; iso_week such as '2026-W41'; durations in microseconds
-- A week on two teams belongs to the team of most of its days with work, the later one if equal.
create or replace temp table work_person_week as
with team_of_week as (
    select person, week_start, arg_max(team, (days, last_date)) as team
    from (
        select
            person, date_trunc('week', local_date)::date as week_start, team,
            count(*) as days, max(local_date) as last_date
        from work_person_day
        group by person, date_trunc('week', local_date)::date, team
    )
    where team is not null
    group by person, week_start
),
week as (
    select
        person, date_trunc('week', local_date)::date as week_start,
        strftime(min(local_date), '%G-W%V') as iso_week, count(*)::integer as days,
        sum(pipetting_us)::bigint as pipetting_us, sum(strokes)::bigint as strokes,
        max(longest_spell_us) as longest_spell_us, sum(beyond_guide_us)::bigint as beyond_guide_us,
        sum(rests_micro)::integer as rests_micro, sum(rests_long)::integer as rests_long,
        case when count(*) = count(force_time_mn_ms) then sum(force_time_mn_ms)::bigint end
            as force_time_mn_ms,
        sum(force_known_us)::bigint as force_known_us,
        case when count(*) = count(peak_force_mn) then max(peak_force_mn) end as peak_force_mn
    from work_person_day
    group by person, date_trunc('week', local_date)::date
)
select w.person, w.week_start, w.iso_week, t.team, w.* exclude (person, week_start, iso_week)
from week w left join team_of_week t on t.person = w.person and t.week_start = w.week_start
order by w.person, w.week_start
