"""What two words about a bread mean for the next one; loaded when somebody says them."""

# (top, base): (direction of the top share, why, what a person may do)
ADVICE = {
    (1, 1): (0, "both pale", "bake 10 s longer, or 10 degrees hotter"),
    (1, 2): (1, "top pale, base right", ""),
    (1, 3): (1, "top pale, base dark", "lay the next bread on a slightly cooler stone"),
    (2, 1): (-1, "top right, base pale", "let the stone recover longer"),
    (2, 2): (0, "both right", ""),
    (2, 3): (1, "top right, base dark", "lay the next bread on a slightly cooler stone"),
    (3, 1): (-1, "top dark, base pale", "let the stone recover longer"),
    (3, 2): (-1, "top dark, base right", ""),
    (3, 3): (0, "both dark", "bake 10 s less, or 10 degrees cooler"),
}
