"""Hostile requests to the page, drawn from RFC 9110, 9112, 6454, 6750 and the event streams'
standard.

Each says what must come of it; none of them may cost the run anything, or be told what a run tells.
"""
