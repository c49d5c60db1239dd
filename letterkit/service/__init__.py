"""The HTTP service: findings in, a letter with its queries and provenance out, for other clinic systems.

Here may stand: the application and its routes, who may call what, limits, problem details, logs and metrics. A route
reads its input, calls the room that does the work, and says what came of it. Nothing here decides anything clinical,
and nothing of a patient goes to a log, a metric or an address.
"""
