"""The station: a workplace worked by scans alone; STATION.md says what a sequence of them means."""
