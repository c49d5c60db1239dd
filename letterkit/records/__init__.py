"""What the service keeps: letters with immutable versions, answers, approvals, who may do what, and an audit trail.

Here may stand: the tables and their migrations, the store, the audit trail with its chain of digests, keys and people,
retention, erasure, backup and restore. SQLite in a file is the default, PostgreSQL by URL. Nothing here decides
anything clinical: what a version holds is made elsewhere and kept as it came.
"""
