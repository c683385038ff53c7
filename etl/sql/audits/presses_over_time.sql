-- output: bouts whose presses and ejections, at the times measured on the instrument, take longer than the bout
-- grain:  one row a bout
-- time:   instants, shown in UTC
-- Figures that need the exertions leave such a bout unknown.
with catalogue as (
    select
        instrument, min(press_ms) as press_ms, min(eject_ms) as eject_ms,
        (case when min(plunger_mn) > 0 then 1 else 0 end + case when min(blow_out_mn) > 0 then 1 else 0 end) as presses,
        case when min(ejection_mn) > 0 then 1 else 0 end as ejections
    from core.instruments group by instrument having count(*) = 1
)
select concat_ws(' ', b.person, make_timestamp(b.start_us)) as offender
from core.bouts b join catalogue c on c.instrument = b.instrument
where 1000 * (
    b.strokes::bigint * c.presses * coalesce(c.press_ms, 0)
    + coalesce(b.tips, 0)::bigint * c.ejections * coalesce(c.eject_ms, 0)
) > b.end_us - b.start_us
