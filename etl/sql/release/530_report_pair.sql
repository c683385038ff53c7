-- output: reported hours a week of each person beside logged ones, and beside a second report of the same months
-- grain:  one row a person with a report
-- time:   months from $first (included) to $after (not included)
-- Logged hours divide by the weeks on the roster, and only months with any logged work of the person count: where
-- nothing is logged nobody knows whether nothing was done. second and again are averages over months reported twice.
with report as (
    select
        person, month, max(hours_per_week) filter (where report = 1) as one,
        max(hours_per_week) filter (where report = 2) as two
    from core.diaries
    where month >= $first and month < $after
    group by person, month
),
logged as (
    select person, date_trunc('month', local_date)::date as month, sum(pipetting_us)::double / 3.6e9 as hours
    from facts.person_day
    where local_date >= $first and local_date < $after
    group by person, date_trunc('month', local_date)::date
),
roster as (
    select person, month, sum(days_on_team) / 7.0::double as weeks
    from facts.roster where month >= $first and month < $after group by person, month
)
select
    r.person,
    avg(r.one) filter (where l.hours is not null and w.weeks is not null) as reported,
    avg(l.hours / w.weeks) filter (where r.one is not null) as logged,
    avg(r.one) filter (where r.two is not null) as again,
    avg(r.two) filter (where r.one is not null) as second
from report r
left join logged l on l.person = r.person and l.month = r.month
left join roster w on w.person = r.person and w.month = r.month
group by r.person
order by r.person
