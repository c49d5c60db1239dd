from records_fixtures import cluster, content, other_url, store, url  # noqa: F401 - fixtures of this folder
