"""What all pages share beside widgets: what an action gets, squads, runs, dialogs, keys."""
