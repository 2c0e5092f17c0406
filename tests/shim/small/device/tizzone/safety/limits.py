CONDITION_NAMES = ("none", "odd")
