import gc

gc.threshold(4096)  # collect while modules load, so that the heap stays in one piece
from tizzone import app  # noqa: E402

app.run()
