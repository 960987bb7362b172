"""Specs that want to break platekit: drawn at random or spoilt at random, for as long as is wanted."""
