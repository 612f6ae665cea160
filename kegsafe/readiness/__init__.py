"""Today, and what an inspector would find: computed from the records of every room below."""
