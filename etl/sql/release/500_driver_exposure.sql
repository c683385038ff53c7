-- output: what each person was exposed to in a month, for the drivers of discomfort
-- grain:  one row a person and month on a roster
-- time:   month as whole months since $first; up to $month
-- Hours and strokes divide by the weeks on the roster, worked or not: a dose, where published group exposure divides
-- by the weeks with any logged work. Force is the time-weighted peak thumb force of the instruments used, null as
-- long as less than half the pipetting time has a measured force; multi_share is the share of the time with several
-- channels, powered_share that with an electronic instrument. force_dose is thumb force-time, kN*s a week, the
-- unmeasured part of the work taken like the measured one. Nothing else missing is replaced.
with home as (
    select
        person, month, arg_max(team, (days_on_team, team)) as team,
        arg_max(cluster, (days_on_team, team)) as cluster, sum(days_on_team) as days
    from facts.roster
    where month between $first::date and $month::date
    group by person, month
),
age as (
    -- A person's first band; a band that changes would let time itself pass for age.
    select person, arg_min(age_band, valid_from) as age_band from core.people group by person
),
day as (
    select
        person, date_trunc('month', local_date)::date as month,
        sum(pipetting_us)::double / 3.6e9 as hours, sum(strokes)::double as strokes,
        avg(longest_spell_us)::double / 6e7 as spell,
        sum(beyond_guide_us)::double / nullif(sum(pipetting_us), 0) as beyond,
        sum(force_time_mn_ms)::double / 1e9 as force_kn_s, sum(force_known_us)::double / sum(pipetting_us) as known
    from facts.person_day
    where local_date >= $first::date and local_date < $month::date + interval 1 month
    group by person, date_trunc('month', local_date)::date
),
seen as (
    -- The newest walk-through up to the month released describes the bench in all months.
    select station, arg_max(bench_height_mm, observed_on) as bench, arg_max(foot_support, observed_on) as support
    from core.stations where observed_on < $month::date + interval 1 month group by station
),
catalogue as (
    select instrument, min(kind) as kind, min(channels) as channels
    from core.instruments group by instrument having count(*) = 1
),
piece as (
    select
        b.person, date_trunc('month', b.local_date)::date as month,
        sum(b.end_us - b.start_us)::double as us,
        sum(b.end_us - b.start_us) filter (where b.peak_force_mn is not null)::double as known_us,
        sum(b.peak_force_mn::double * (b.end_us - b.start_us)) as mn_us,
        sum(b.end_us - b.start_us) filter (where c.channels > 1)::double as multi_us,
        sum(b.end_us - b.start_us) filter (where c.kind in ('ELECTRONIC', 'REPEATER', 'MULTI_ELECTRONIC', 'AUTOMATE'))::double as powered_us,
        sum(s.bench * (b.end_us - b.start_us)) / sum(b.end_us - b.start_us) filter (where s.bench is not null) as bench,
        sum(b.end_us - b.start_us) filter (where not s.support)::double as loose_us
    from facts.bout_piece b
    left join catalogue c on c.instrument = b.instrument
    left join seen s on s.station = b.station
    where b.local_date >= $first::date and b.local_date < $month::date + interval 1 month
    group by b.person, date_trunc('month', b.local_date)::date
)
select
    h.person, h.team, h.cluster, a.age_band,
    datediff('month', $first::date, h.month)::integer as month,
    coalesce(d.hours, 0) * 7 / h.days as hours,
    coalesce(d.strokes, 0) * 7 / h.days as strokes,
    case when d.known >= 0.5 then d.force_kn_s / d.known * 7 / h.days end as force_dose,
    d.spell, d.beyond,
    case when p.known_us * 2 >= p.us then p.mn_us / p.known_us / 1000 end as force,
    coalesce(p.multi_us, 0) / p.us as multi_share,
    coalesce(p.powered_us, 0) / p.us as powered_share,
    p.bench, coalesce(p.loose_us, 0) / p.us as no_support_share
from home h
left join age a on a.person = h.person
left join day d on d.person = h.person and d.month = h.month
left join piece p on p.person = h.person and p.month = h.month
order by h.person, h.month
