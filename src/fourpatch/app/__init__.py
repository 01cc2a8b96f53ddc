"""The workbench in a browser: a local server, its pages and the HTTP API under them."""
