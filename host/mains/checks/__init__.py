"""What is judged: each module's `findings(sheet, figures)` gives the findings of one part of the build."""
