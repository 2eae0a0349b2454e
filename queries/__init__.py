"""Ground floor: schema, SQL views, typed readers and pure statistics."""

import os

# Before numpy is loaded, which reads them once. For matrices of a hundred rows a second
# thread gains nothing; where others have the processor, threads that wait for one
# another turn a fit of tenths of a second into one of many seconds.
for _name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_name, "1")
