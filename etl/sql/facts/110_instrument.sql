-- output: work_instrument, the catalogue as the force figures use it
-- grain:  one row an instrument that the catalogue lists exactly once
-- time:   none; forces in whole millinewtons, durations in whole milliseconds
-- A contradictory entry counts as unmeasured. Nothing missing is ever replaced by a default.
create or replace temp table work_instrument as
select
    instrument,
    min(plunger_mn + blow_out_mn) * cast(min(press_ms) as bigint) as stroke_mn_ms,
    min(ejection_mn) * cast(min(eject_ms) as bigint) as tip_mn_ms,
    case
        when count(plunger_mn) = 1 and count(blow_out_mn) = 1 and count(ejection_mn) = 1
            then greatest(min(plunger_mn), min(blow_out_mn), min(ejection_mn))
    end as peak_force_mn
from core.instruments
group by instrument
having count(*) = 1
