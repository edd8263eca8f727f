"""The steps around the drying: getting to know the appliance, and what comes before and after it."""
