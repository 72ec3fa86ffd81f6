"""A ramp that plans itself: first step, climb, rests, end. Start at ramp_planner.py."""
