"""Equations alone, in SI units, on numbers or arrays: no job, no reference, no rule."""
