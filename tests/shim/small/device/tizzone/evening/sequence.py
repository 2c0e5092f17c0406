STATES = ("idle", "running")
STAGES = ("none", "hot")
