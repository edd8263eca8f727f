"""The steps before and after drying: firming, marinade, loading, the product, its keeping."""
