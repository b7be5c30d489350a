"""From a job to panels of exact shapes, with what can be said about them before anything is cut."""
