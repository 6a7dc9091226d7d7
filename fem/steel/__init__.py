"""Reinforcement: what a cracked section carries, what is owed where, straight runs that carry it, and their worth."""
