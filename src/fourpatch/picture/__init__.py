"""Figures of what the parts below found: matplotlib, on a light ground, never told apart by colour alone."""
