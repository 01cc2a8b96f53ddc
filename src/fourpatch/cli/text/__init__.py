"""Answers as tables, with a line under each that says what it means, made from its numbers."""
