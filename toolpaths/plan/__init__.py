"""From panels of exact shapes to a neutral Program: methods, speeds, paths, tabs and order."""
