-- output: core.set_aside rows of the file being loaded
-- grain:  one row an input row and reason; counts_as_row is true on the first reason of each input row
-- time:   none
insert into core.set_aside
select {file_id}, row_number, column_name, {reason}, value,
       row_number() over (partition by id order by place, reason) = 1
from issues;
