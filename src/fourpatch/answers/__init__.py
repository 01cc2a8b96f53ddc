"""Questions and their answers, a file each: what is asked, computed, found, and how it is said."""
