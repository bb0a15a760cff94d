-- severity: stop
-- meaning: Every accepted set is in the models: the days of the calendar cover the logs.
-- reads: stg_set, logged_set
select
    logged.n_rows as n_logged,
    staged.n_rows as n_staged
from (select count(*) as n_rows from logged_set) as logged
cross join (select count(*) as n_rows from stg_set) as staged
where logged.n_rows <> staged.n_rows
