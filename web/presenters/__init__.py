"""What pages show, gathered before a template lays it out. No request is read here and nothing is changed."""
