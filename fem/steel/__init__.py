"""Reinforcement: what a section carries once cracked, what is owed where, straight runs that carry it, and their worth."""
