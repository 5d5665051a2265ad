"""Screens that lie over the desk: one question or one page each."""
