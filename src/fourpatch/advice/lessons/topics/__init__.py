"""The lessons that come with Fourpatch, a file each: words of our own, every number from the car at hand."""
