-- output: the name of a table that holds rows of some files; to stand in a UNION ALL
-- grain:  one row, none if there are none
-- time:   none
(select '{table}' from {table} where {files} limit 1)
