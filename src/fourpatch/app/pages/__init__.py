"""The pages: layout and calls, no formula."""
