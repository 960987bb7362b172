"""What a command does, one file each: from a spec on disk to a value with its state, text and figures."""
