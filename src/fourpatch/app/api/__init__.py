"""The HTTP API: one file per resource, thin over the notebook and `fourpatch.app.answers`."""
