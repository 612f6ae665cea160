"""The forms of the stock room: what is typed becomes what a service takes."""
