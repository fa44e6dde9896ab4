"""Advice: what to tie on, where to start, what to switch to. Pure: conditions and knowledge in, choices out."""
