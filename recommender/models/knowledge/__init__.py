"""What packs say: rules and tables, and what is reported of them."""
