"""The one-page card of a batch."""
