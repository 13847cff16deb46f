"""Why it squeals: every cause that the checks have a number for, from what was heard."""
