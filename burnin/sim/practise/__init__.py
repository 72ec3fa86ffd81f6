"""Faults that are not disclosed, for a person to find. Start with `exercise.py`.

It knows scenarios, causes and the contacts' physics; `answers.py` judges what a person says.
"""
