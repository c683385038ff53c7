-- output: bouts without length, longer than 16 hours, or with a negative count
-- grain:  one row a bout
-- time:   instants, shown in UTC
select concat_ws(' ', person, make_timestamp(start_us)) as offender
from core.bouts
where end_us <= start_us or end_us - start_us > 57600000000
    or least(strokes, tips, channels, volume_changes) < 0
