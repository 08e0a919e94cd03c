"""What a sweep says: which inputs decide, by how much each moves a result, where the verdict turns.

Everything here reads the frame of a sweep, one row a case and option: `case`, a column a varied
parameter (those between `case` and `option`), `option`, the results, and `status`, "ok" or why the
case has none. Cases without a result are left out and counted in ``attrs["left_out"]``; of several
options only cases that all of them finished are read, so that all are judged on the same houses.
"""
