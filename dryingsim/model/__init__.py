"""The physics assembled: slabs, their faces, the air around them."""
