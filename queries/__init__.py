"""Ground floor: schema, SQL views, typed readers and pure statistics."""
