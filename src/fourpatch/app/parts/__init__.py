"""What pages are composed of: each part a small element of our own, with its JavaScript beside it."""
