"""Reference points, correction curves and the uncertainty that remains."""
