"""The fire under the grate: how hot it is, where it goes, and when that is wrong."""
