-- output: the number of islands that may reach beyond what was looked at
-- grain:  one row
-- time:   none
-- An island is safe if one window, a person's touched stretch and {margin_us} around it, holds it with a rest to spare
-- on either side.
select count(*)
from work_island i
anti join (
    select d.person, d.from_us - {margin_us} + s.rest_us as from_us, d.to_us + {margin_us} - s.rest_us as to_us
    from work_touched d cross join work_setting s
) w on w.person = i.person and w.from_us <= i.from_us and w.to_us >= i.to_us
