"""The Film page and the page that names the clips of an evening."""
