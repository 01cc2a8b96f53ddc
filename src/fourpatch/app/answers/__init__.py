"""What pages and the HTTP API both ask: plain functions, typed answers, no trace of a browser."""
