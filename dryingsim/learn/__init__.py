"""From the log of a batch to what the next one needs: learned parameters, a forecast, a history of batches."""
