"""Parts that pages are composed of."""
