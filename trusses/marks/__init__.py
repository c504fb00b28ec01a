"""The marks of a job: their pages, their API, and the forms that make new ones."""
