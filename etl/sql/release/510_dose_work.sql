-- output: the work of a span with the measurements of its instruments, for the figures of a day
-- grain:  one row a bout and local day; of stroke events, one a spell, instrument and local day
-- time:   local days from $from (included) to $to (not included); whole microseconds, millinewtons, milliseconds
-- A slice of stroke events is too short for a frequency of its own. within_us is the work at most $due_us after the
-- spell began. A contradictory entry of the catalogue counts as unmeasured. day numbers persons' days.
with piece as (
    select
        b.person, b.local_date, b.team, b.task, b.instrument, b.strokes, b.tips, b.end_us - b.start_us as us,
        greatest(least(b.end_us, p.start_us + $due_us) - b.start_us, 0) as within_us,
        case when b.origin = 'bouts' then b.start_us else -b.spell end as bout
    from facts.bout_piece b
    join facts.spell p on p.person = b.person and p.spell = b.spell
    where b.local_date >= $from and b.local_date < $to and b.team is not null
),
bout as (
    select
        person, local_date, team, instrument, bout,
        sum(us)::bigint as us, sum(within_us)::bigint as within_us, sum(strokes)::bigint as strokes,
        case when count(*) = count(tips) then sum(tips)::bigint end as tips
    from piece
    group by person, local_date, team, task, instrument, bout
),
catalogue as (
    select
        instrument, min(plunger_mn) as plunger_mn, min(blow_out_mn) as blow_out_mn, min(ejection_mn) as ejection_mn,
        min(press_ms) as press_ms, min(eject_ms) as eject_ms
    from core.instruments group by instrument having count(*) = 1
)
select
    (dense_rank() over (order by b.person, b.local_date) - 1)::bigint as day,
    b.person, b.team, b.us, b.within_us, b.strokes, b.tips,
    c.plunger_mn, c.blow_out_mn, c.ejection_mn, c.press_ms, c.eject_ms
from bout b left join catalogue c on c.instrument = b.instrument
order by b.person, b.local_date, b.bout, b.instrument, b.us, b.strokes
