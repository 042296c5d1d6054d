"""What stands in the records about parts: schedules, what fills them, lists and pages. Each in a constant number of queries."""
