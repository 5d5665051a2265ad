"""What if: the smallest change that cures what falls short, sweeps over an entry, and how sure an answer is.

Each question is asked of the engine itself, of a job that holds the change: there is no second copy of a rule.
"""
