"""The dossier: one case in one file, with everything a stranger needs to check it."""
