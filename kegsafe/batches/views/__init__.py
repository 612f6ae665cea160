"""The pages of the batches room."""
