"""The record of a build: what was asked, what was made, and by what it was checked."""
