"""From a job file to proved programs: the rooms are drawn in DEVELOPERS.md."""
