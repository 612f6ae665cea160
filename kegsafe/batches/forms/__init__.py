"""The forms of the batches room: what is typed becomes what a service takes."""
