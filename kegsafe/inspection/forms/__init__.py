"""Forms of the room of the inspection."""
