"""Papers for the bench: setup sheet, drill schedule, and the cautions that both carry."""
