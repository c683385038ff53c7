-- output: stations named by bouts that the list of stations does not hold
-- grain:  one row a station
-- time:   none
select distinct b.station as offender
from core.bouts b anti join core.stations s on s.station = b.station
where b.station is not null
