"""Every command over many files, compared with what it answered before."""
