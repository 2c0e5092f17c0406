def page(plan):
    return ""
