"""Painting a job: which paint lies where, in what order, behind which masks; composed of the parts in finishing."""
