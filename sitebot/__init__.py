"""sitebot: one contact in the phone for a crew that heat-welds PVC waterstop."""

__version__ = "0.1.0"
