"""Everything that can happen in a session, as frozen records. Pure: files belong to `archive`."""
