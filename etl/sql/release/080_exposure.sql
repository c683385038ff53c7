-- output: what each person's work adds up to within a unit
-- grain:  one row a unit of release_group and person with any logged work
-- time:   local days from $from (included) to $to (not included); whole microseconds, strokes and mN*ms
-- week_days counts the days, inside the span, of the ISO weeks with any logged work, so that holidays and weeks
-- without pipetting do not thin the weekly hours.
with day as (
    select *, date_trunc('week', local_date)::date as week_start
    from facts.person_day
    where local_date >= $from and local_date < $to
),
placed as (select g.level, g.unit, d.* from day d join release_group g on g.team = d.team),
week as (
    select
        level, unit, person,
        sum(date_diff('day', greatest(week_start, $from), least(week_start + 7, $to)))::integer as week_days
    from (select distinct level, unit, person, week_start from placed)
    group by level, unit, person
),
work as (
    select
        level, unit, person,
        sum(pipetting_us)::bigint as pipetting_us, sum(strokes)::bigint as strokes,
        count(*)::integer as days, sum(longest_spell_us)::bigint as longest_us,
        count(*) filter (where longest_spell_us > $long_spell_us)::integer as long_days,
        sum(beyond_guide_us)::bigint as beyond_us, sum(rests_micro)::integer as rests_micro,
        coalesce(sum(force_time_mn_ms), 0)::bigint as force_mn_ms, count(force_time_mn_ms)::integer as force_days,
        sum(force_known_us)::bigint as force_known_us
    from placed
    group by level, unit, person
),
force as (
    select
        g.level, g.unit, b.person,
        sum(cast(b.peak_force_mn as hugeint) * (b.end_us - b.start_us)) as peak_mn_us,
        sum(b.end_us - b.start_us)::bigint as peak_known_us,
        sum(b.strokes)::bigint as peak_strokes,
        coalesce(sum(b.strokes) filter (where b.peak_force_mn > $force_guide_mn), 0)::bigint as over_strokes
    from facts.bout_piece b join release_group g on g.team = b.team
    where b.local_date >= $from and b.local_date < $to and b.peak_force_mn is not null
    group by g.level, g.unit, b.person
)
select
    w.*, k.week_days, coalesce(f.peak_mn_us, 0)::double as peak_mn_us, coalesce(f.peak_known_us, 0) as peak_known_us,
    coalesce(f.peak_strokes, 0) as peak_strokes, coalesce(f.over_strokes, 0) as over_strokes
from work w
join week k on k.level = w.level and k.unit = w.unit and k.person = w.person
left join force f on f.level = w.level and f.unit = w.unit and f.person = w.person
order by w.level, w.unit, w.person
