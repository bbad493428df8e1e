"""Printed class sets: job cards, logs and plans for trainees, keys for trainers."""
