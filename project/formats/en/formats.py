"""One way to write a day and a moment on every page: what a template says itself is a part of these."""

DATE_FORMAT = "M j, Y"
DATETIME_FORMAT = "M j, Y, g:i a"
MONTH_DAY_FORMAT = "M j"
