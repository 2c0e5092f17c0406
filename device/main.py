import gc

gc.threshold(32768)  # collect while modules load: the heap stays in one piece (4 kB took 2 s longer, for no more of it)
from tizzone import app  # noqa: E402

app.run()
