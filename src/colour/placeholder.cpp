// replaced by the layer's first source
