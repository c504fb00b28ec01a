"""The invented people of the demo."""

DEMO_PEOPLE = (
    ("builder", "Builder", "asks for changes from the house, phone in hand"),
    ("designer", "Designer", "decides, with the forces before and after"),
    ("site-lead", "Site lead", "builds from what is current"),
    ("outsider", "Outsider", "a member of no job: sees nothing"),
)
"""The invented people of `manage.py demo`: user name, what to call them, what they do."""
